"""Words on the way: what goes on, how long it has taken, and what cannot be had."""

import sys
import threading
import time

_BEGAN = time.monotonic()
_ONE = threading.Lock()


class Missing(Exception):
    """Something the boards need cannot be had here; one sentence that says what would help."""


def say(text: str) -> None:
    """A line of progress, with the seconds since the start; whole, whoever else is speaking."""
    with _ONE:
        print(f"[{time.monotonic() - _BEGAN:5.0f} s] {text}", file=sys.stderr, flush=True)
