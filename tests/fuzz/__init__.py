"""Files, notebooks and command lines that nobody should ever hand in; and what must come of each: one sentence."""
