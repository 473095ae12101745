"""For those who write a board of their own: the contract as a suite of tests (docs/boards.md)."""
