"""A control patch: one negative at one setting every session, its densities against their aim within limits.

The chart is W. A. Shewhart's (*Economic Control of Quality of Manufactured Product*, 1931): an aim, limits, a point a
session. The limits are our own choice: a sheet from baths in order strays by some 0.02 in density (0.0075 in log exposure
at a slope of 2.6) and a densitometer by 0.01, so that 0.05 is about two standard deviations and 0.08 more than three.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from timer.craft.layers import LAYERS

WATCH, ACT = 0.05, 0.08
"""Density off the aim: beyond the first it is to be watched, beyond the second something is to be done."""
TREND = 5
"""Sessions of which each is further the same way than the one before that make a trend. Our choice; by chance, one run of
five in sixty is one."""
AIM_OF = 3
"""First sessions whose mean is the aim."""
Three = tuple[float, float, float]
State = Literal["in limits", "watch", "act"]


def aim_from(densities: Sequence[Three]) -> Three:
    """The mean of the first sessions. ValueError without any."""
    first = densities[:AIM_OF]
    if not first:
        raise ValueError("there is no session to take an aim from")
    red, green, blue = (sum(each[n] for each in first) / len(first) for n in range(3))
    return red, green, blue


def state(off: float) -> State:
    """How a density ``off`` its aim stands."""
    size = round(abs(off), 2)  # as it is shown
    return "act" if size > ACT else "watch" if size > WATCH else "in limits"


@dataclass(frozen=True)
class Verdict:
    """One session: ``off`` the aim in red, green, blue; the worst ``state`` of them; ``out``: those that are not in limits,
    like ``red 0.06 over``."""

    off: Three
    state: State
    out: tuple[str, ...]


def verdict(density: Three, aim: Three) -> Verdict:
    """How a session's ``density`` stands against its ``aim``."""
    red, green, blue = (d - a for d, a in zip(density, aim, strict=True))
    each = [(name, off, state(off)) for name, off in zip(LAYERS, (red, green, blue), strict=True)]
    out = [f"{name} {abs(off):.2f} {'over' if off > 0 else 'under'}" for name, off, how in each if how != "in limits"]
    worst: State = max((how for _, _, how in each), key=("in limits", "watch", "act").index)
    return Verdict((red, green, blue), worst, tuple(out))


def trends(densities: Sequence[Three]) -> list[str]:
    """What the last sessions do one after another: ``red rising``, ``blue falling``; empty for nothing."""
    last = densities[-TREND:]
    if len(last) < TREND:
        return []
    found = []
    for n, name in enumerate(LAYERS):
        steps = [round(after[n] - before[n], 6) for before, after in pairwise(last)]
        if all(step > 0 for step in steps):
            found.append(f"{name} rising")
        elif all(step < 0 for step in steps):
            found.append(f"{name} falling")
    return found
