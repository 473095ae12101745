"""The boards a local keeper can drive."""
