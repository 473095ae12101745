"""The keeper, which owns the lamp: one link and one contract for every kind of it."""
