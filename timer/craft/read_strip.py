"""Reading a strip: the patch that was right, or a place between two, and what to do when none was."""

from collections.abc import Sequence
from fractions import Fraction

from timer.craft.filters import Pack
from timer.craft.stops import between


def seconds_at(seconds: Sequence[float], place: float) -> float:
    """Time at ``place`` on a strip of patches of ``seconds``: 3 is patch 3, 3.5 half-way to 4 counted in stops.

    ValueError outside of the strip.
    """
    if not 1 <= place <= len(seconds):
        raise ValueError(f"place {place:g} is not on a strip of {len(seconds)} patches; say 1 to {len(seconds)}")
    low = min(int(place), len(seconds) - 1)
    return between(seconds[low - 1], seconds[low], place - low)


def advice(seconds: Sequence[float], place: float) -> str:
    """What to think of when the choice fell on an end of the strip; empty in the middle."""
    if place == 1:
        return "the lightest was chosen: if it is still too dark, make the next strip end here, one or two stops down"
    if place == len(seconds):
        return "the darkest was chosen: if it is still too light, make the next strip begin here, one or two stops up"
    return ""


def next_step(seems: Fraction, last: Fraction | None) -> Fraction:
    """Stops to change by when ``seems`` looks right and the ``last`` change was so much (None: this is the first).

    The first time go past it, to twice as much, so that the right value lies between two sheets (M. A. Smith, "On
    printing"). When the direction turns, half of the last change back, since the right value is between. Common practice.
    """
    if last is None:
        return 2 * seems
    if seems * last < 0:
        return -last / 2
    return seems


def next_change(seems: Pack, last: Pack) -> Pack | None:
    """The same for a cast: half of the ``last`` change back, when what ``seems`` right is the way it came; else None.

    What is alike in all three is density, and no direction of colour.
    """
    one, other = _colour(seems), _colour(last)
    lengths = sum(a * a for a in one) * sum(b * b for b in other)
    if not lengths or sum(a * b for a, b in zip(one, other, strict=True)) > -0.9 * lengths**0.5:
        return None
    return Pack(-last.c / 2, -last.m / 2, -last.y / 2)


def _colour(pack: Pack) -> tuple[float, float, float]:
    grey = (pack.c + pack.m + pack.y) / 3
    return pack.c - grey, pack.m - grey, pack.y - grey
