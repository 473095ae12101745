"""Who is using a notebook: while anybody is, it must not be changed for another one."""

import hashlib
from pathlib import Path

from timer.keeper.claim import Claim, Holder, holder_of

PLACES = 8
"""Programs that can be known to use one notebook at once; a screen, and runs on as many lamps."""


def take_place(path: Path) -> Claim | None:
    """Be known to use the notebook at ``path`` until it is closed; None where so many already are that it cannot matter."""
    for key in _keys(path):
        try:
            return Claim(key)
        except OSError:
            continue
    return None


def user_of(path: Path) -> Holder | None:
    """A process that uses the notebook at ``path``; None for nobody."""
    return next((holder for holder in map(holder_of, _keys(path)) if holder), None)


def _keys(path: Path) -> list[str]:
    name = hashlib.sha256(str(path.resolve()).encode()).hexdigest()[:16]
    return [f"notebook-{name}-{n}" for n in range(PLACES)]
