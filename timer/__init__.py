"""Everything of Lamphouse that is not a screen."""
