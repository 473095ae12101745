"""Readings of sheets turned into what to do next."""
