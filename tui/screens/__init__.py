"""One screen a file."""
