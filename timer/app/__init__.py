"""What a command or a page asks for; used by both, so that neither goes around it."""
