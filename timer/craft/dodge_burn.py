"""Dodges and burns on one base exposure.

A burn of s stops adds base x (2^s - 1); a dodge of s stops holds back base x (1 - 2^-s).
Checked against the published timing table named in tests/published.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from timer.craft.stops import factor, format_stops, told_apart

SMALLEST_S = 0.005
"""Light shorter than this is not worth an exposure: five thousandths of a second."""
MIN_CHANGE_S = 2.0
"""Seconds: a shorter time between two changes of the hands is hard to do well, and to repeat. Common practice."""


def burn_seconds(base: float, stops: Fraction | float) -> float:
    """Seconds to add to ``base`` for ``stops`` more light."""
    return base * (factor(stops) - 1)


def dodge_seconds(base: float, stops: Fraction | float) -> float:
    """Seconds to hold back out of ``base`` for ``stops`` less light; ``stops`` is the size of the dodge."""
    return base * (1 - factor(-stops))


@dataclass(frozen=True)
class Dodge:
    """A dodge as asked for: ``stops`` is its size (positive); ``together`` names the dodge it overlaps, or is empty."""

    area: str
    stops: Fraction
    together: str = ""


@dataclass(frozen=True)
class Segment:
    """A stretch of the base, in full-light seconds, and the areas held back during it (none: all clear)."""

    start: float
    end: float
    held: tuple[str, ...]


class DoesNotFit(ValueError):
    """The dodges need more time than the base has; the message says what can be done."""


def segments(base: float, dodges: Sequence[Dodge], changeover: float = 0.0) -> tuple[Segment, ...]:
    """Lay dodges one after another in the base, pairs that overlap together, the clear rest at the end.

    ``changeover`` seconds of clear light are left between one dodge and the next, for the hands. A clear rest, or what one
    of a pair is longer than the other, shorter than SMALLEST_S is given to the stretch before it.
    Raises DoesNotFit when they need more than ``base``; ValueError when an overlap is not a plain pair, or a stretch is
    shorter than SMALLEST_S.
    """
    out: list[Segment] = []
    at = 0.0
    for n, pair in enumerate(_pairs(dodges)):
        if n and changeover:
            out.append(Segment(at, at + changeover, ()))
            at += changeover
        held = sorted(pair, key=lambda d: d.stops)
        shared, longest = dodge_seconds(base, held[0].stops), dodge_seconds(base, held[-1].stops)
        if longest - shared < SMALLEST_S:
            shared = longest
        out.append(Segment(at, at + shared, tuple(d.area for d in pair)))
        if longest > shared:
            out.append(Segment(at + shared, at + longest, (held[-1].area,)))
        at += longest
    if at > base * (1 + 1e-9):
        raise DoesNotFit(_ways_out(base, dodges, at, at - out_gaps(out)))
    if not out or base - at >= SMALLEST_S:
        out.append(Segment(at, base, ()))
    out[-1] = replace(out[-1], end=base)
    for stretch in out:
        if stretch.end - stretch.start < SMALLEST_S:
            what = f"the dodge of {' and '.join(stretch.held)}" if stretch.held else "the clear light"
            raise ValueError(
                f"{what} is {_brief(stretch.end - stretch.start)} s of {base:.4g} s; nothing shorter than "
                f"{SMALLEST_S:g} s can be given or held back"
            )
    return tuple(out)


def _brief(seconds: float) -> str:
    return told_apart(seconds, SMALLEST_S) if seconds > 0 else "0"


def out_gaps(laid: Sequence[Segment]) -> float:
    """Seconds of ``laid`` in which nothing is held back."""
    return sum(s.end - s.start for s in laid if not s.held)


def _pairs(dodges: Sequence[Dodge]) -> list[list[Dodge]]:
    by_area = {d.area: d for d in dodges}
    partner: dict[str, str] = {}
    for d in dodges:
        if not d.together:
            continue
        if d.together not in by_area or d.together == d.area:
            raise ValueError(f"dodge {d.area!r} is to overlap {d.together!r}, which is not another dodge of this recipe")
        for one, other in ((d.area, d.together), (d.together, d.area)):
            if partner.setdefault(one, other) != other:
                raise ValueError(f"dodge {one!r} overlaps more than one other; two hands hold back two areas at most")
    done: set[str] = set()
    out = []
    for d in dodges:
        if d.area in done:
            continue
        pair = [d] + ([by_area[partner[d.area]]] if d.area in partner else [])
        done.update(p.area for p in pair)
        out.append(pair)
    return out


def _ways_out(base: float, dodges: Sequence[Dodge], need: float, held: float) -> str:
    names = ", ".join(f"{d.area} {format_stops(-d.stops)}" for d in dodges)
    say = f"the dodges ({names}) need {need:.1f} s one after another, and the base is {base:.1f} s: "
    share = held / base
    if share < 1:
        # Only the changeover fails to fit: it stays the same while everything else grows with the base.
        longer = (need - held) / (1 - share)
        return (
            say + f"a smaller aperture that makes the base {longer:.1f} s or more leaves room, or turn the rest into burns"
        )
    return say + (
        "let two of them overlap, or shorten the base and turn the rest of the picture into burns "
        "(a smaller aperture will not help here: each dodge grows with the base)"
    )
