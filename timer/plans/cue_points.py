"""Cues of an exposure: the changes of hands and the end, each with its warning before it."""

from collections.abc import Iterable

from timer.craft.dodge_burn import SMALLEST_S as SMALLEST_S
from timer.plans.model import Mark

WARN_S = 2.0
"""How long before a change the ear is warned; less in a stretch too short for it."""


def marks(seconds: float, changes: Iterable[Mark] = ()) -> tuple[Mark, ...]:
    """``changes`` and the end of an exposure of ``seconds``, in order of time, each with its warning before it."""
    made: list[Mark] = []
    before = 0.0
    for mark in (*changes, Mark(seconds, "end", "off")):
        lead = min(WARN_S, (mark.at - before) / 2)
        if lead >= 0.25:
            made.append(Mark(mark.at - lead, "warn", mark.say))
        made.append(mark)
        before = mark.at
    return tuple(made)
