"""A plan carried out: the state machine, the session that drives it, and what follows a break."""
