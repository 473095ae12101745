"""The notebook: intent before light, fact after it. SQLite, one file."""
