"""Test strips: what each patch gets, and the bursts of light that give it.

Patches are numbered from the lightest, patch 1, whichever way the strip is made.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from timer.craft.stops import factor

Way = Literal["cover", "uncover", "window"]
MAX_PATCHES = 24


@dataclass(frozen=True)
class Patch:
    """One patch of a strip: ``stops`` from the time that was given, and its full-light ``seconds``."""

    patch: int
    stops: Fraction
    seconds: float


@dataclass(frozen=True)
class Burst:
    """One exposure of the strip: full-light ``seconds`` on the patches ``first`` to ``last``."""

    seconds: float
    first: int
    last: int


def patches(seconds: float, step: Fraction, count: int, *, around: bool = False) -> tuple[Patch, ...]:
    """The patches of a strip, lightest first, ``step`` stops apart.

    ``seconds`` is the first patch, or with ``around`` the middle of the strip (between the two middle patches
    when ``count`` is even). Raises ValueError for an empty strip, a step that is not a gain, or no light.
    """
    if not 2 <= count <= MAX_PATCHES:
        raise ValueError(f"a strip has 2 to {MAX_PATCHES} patches, not {count}")
    if step <= 0:
        raise ValueError(f"the step between patches must be more than 0 stops, not {step}")
    if not 0 < seconds < float("inf"):
        raise ValueError(f"a strip needs a time of more than 0 seconds, not {seconds:g}")
    start = -step * Fraction(count - 1, 2) if around else Fraction(0)
    offsets = [start + n * step for n in range(count)]
    return tuple(Patch(n + 1, stops, seconds * factor(stops)) for n, stops in enumerate(offsets))


def bursts(strip: tuple[Patch, ...], way: Way) -> tuple[Burst, ...]:
    """The exposures that make ``strip``, in the order they are given.

    ``cover``: all of it first, then one more patch is covered before each burst, from patch 1.
    ``uncover``: the darkest patch alone first, one more patch is uncovered before each burst; the same bursts reversed.
    ``window``: each patch alone, in one burst of its whole time.
    """
    if way == "window":
        return tuple(Burst(p.seconds, p.patch, p.patch) for p in strip)
    last = strip[-1].patch
    before = 0.0
    out = []
    for p in strip:
        out.append(Burst(p.seconds - before, p.patch, last))
        before = p.seconds
    return tuple(out) if way == "cover" else tuple(reversed(out))
