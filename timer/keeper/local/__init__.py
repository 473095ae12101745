"""The local keeper: a process that does nothing but switch the lamp when it should, and the guard beside it."""
