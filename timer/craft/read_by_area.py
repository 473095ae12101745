"""A test sheet read place by place: what each area of the print needs, as one base with dodges and burns.

A sheet that was exposed in halves, in thirds or as a strip shows an area at several times; the printer says at which
patch each was right. From that there are two ways to the same print: the least light as the base and the rest burnt in,
or a higher base with areas held back. Both are laid out here and judged by what hands can do.

The amounts follow from the definition of a stop; what is easy for hands (two seconds between changes, half of the base)
is common practice, without a source.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from timer.craft.dodge_burn import MIN_CHANGE_S, burn_seconds, dodge_seconds
from timer.craft.stops import digits, factor, format_stops

How = Literal["burn", "dodge", "both"]
MAX_HELD = Fraction(1, 2)
"""The share of the base that one area may be held back for: beyond it the card is in the light for most of the time."""

_PLACE = re.compile(r"(\d+(?:\.\d+)?|\d* ?[½⅓⅔¼¾]|\d+ \d+/\d+)", re.ASCII)
_BETWEEN = re.compile(r"\s*(?:-|–|\bto\b|\band\b)\s*")
_VULGAR = {"½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4"}
_WRITE = "write a patch, like 3, or a place between two, like 3.5 or 3-4"


@dataclass(frozen=True)
class Area:
    """An area as read: the ``place`` where it was right (3.5: between patches 3 and 4), its ``stops`` from the first
    patch, and the full-light ``seconds`` that it needs."""

    area: str
    place: Fraction
    stops: Fraction
    seconds: float


@dataclass(frozen=True)
class Local:
    """One dodge (``stops`` below 0) or burn of a way: full-light ``seconds`` held back, or given beside the base."""

    area: str
    stops: Fraction
    seconds: float


@dataclass(frozen=True)
class Way:
    """One way to print what was read: a base of ``base_s`` full-light seconds, the areas that are right with it, dodges
    and burns in the order in which they are done; what is hard about it, in words."""

    how: How
    base_s: float
    as_base: tuple[str, ...]
    dodges: tuple[Local, ...]
    burns: tuple[Local, ...]
    conflicts: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether one pair of hands, one thing at a time, has room for the dodges in the base."""
        return sum(d.seconds for d in self.dodges) <= self.base_s * (1 + 1e-9)

    @property
    def changes(self) -> int:
        """How often the hands change: into and out of each dodge, and to each burn."""
        return 2 * len(self.dodges) + len(self.burns)

    @property
    def light_s(self) -> float:
        """Full-light seconds of base and burns together."""
        return self.base_s + sum(b.seconds for b in self.burns)


def parse_place(text: str) -> Fraction:
    """A place on a strip as it is said: ``3``, ``3.5``, ``3½``, or ``3-4`` for half-way. ValueError for anything else."""
    parts = _BETWEEN.split(text.strip().removeprefix("between").strip())
    if not 1 <= len(parts) <= 2 or not all(len(part) <= 12 and _PLACE.fullmatch(part) for part in parts):
        raise ValueError(f"{text!r} is not a place on a strip; {_WRITE}")
    try:
        found = [_number(part) for part in parts]
    except (ValueError, ZeroDivisionError):
        raise ValueError(f"{text!r} is not a place on a strip; {_WRITE}") from None
    return sum(found, Fraction(0)) / len(found)


def _number(text: str) -> Fraction:
    for sign, plain in _VULGAR.items():
        text = text.replace(sign, f" {plain}")
    return sum((Fraction(part) for part in text.split()), Fraction(0))


def read_areas(patches: Sequence[tuple[Fraction, float]], places: Sequence[tuple[str, Fraction]]) -> tuple[Area, ...]:
    """What each of ``places`` (area, place) needs; ``patches`` have (stops, full-light seconds), lightest first.

    Between two patches it is counted in stops. ValueError off the strip, and for patches that are no rising times.
    """
    if len(patches) < 2 or any(after[1] <= before[1] for before, after in pairwise(patches)):
        raise ValueError("its patches are not a row of longer and longer times, so no area's time can be read from them")
    names = [area for area, _ in places]
    if len(set(names)) < len(names):
        again = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"{again!r} is read twice; read each area once")
    first, out = patches[0], []
    for area, place in places:
        if not 1 <= place <= len(patches):
            raise ValueError(
                f"{area}: place {float(place):g} is not on a strip of {len(patches)} patches; say 1 to {len(patches)}"
            )
        low = min(int(place), len(patches) - 1)
        rise = patches[low][0] - patches[low - 1][0]
        stops = patches[low - 1][0] + (place - low) * rise - first[0]
        out.append(Area(area, place, stops, first[1] * factor(stops)))
    return tuple(out)


def ways(areas: Sequence[Area], base: Area | None = None) -> tuple[Way, ...]:
    """The ways to print ``areas``, each once, the easier one first.

    ``burn``: the least light of any area is the base, the others are burnt in. ``dodge``: the base is the highest from
    which all areas below it can be held back. With a ``base`` that was read, for the picture as a whole, there is one
    way: ``both``, the areas below it held back and those above it burnt in. ValueError for no areas at all.
    """
    if base:
        return (_way("both", base, areas),)
    if not areas:
        raise ValueError("no area was read; give one, like window=4")
    rising = sorted(areas, key=lambda area: area.stops)
    burn = _way("burn", rising[0], areas)
    if rising[-1].stops == rising[0].stops:
        return (burn,)
    top = rising[-1]
    dodge = next((way for area in reversed(rising) if (way := _way("dodge", area, areas)).dodges and _can(way)), None)
    if dodge is None:
        dodge = _way("dodge", top, areas)
    return tuple(sorted((burn, dodge), key=_hardness))


def _can(way: Way) -> bool:
    return way.fits and all(d.seconds <= float(MAX_HELD) * way.base_s * (1 + 1e-9) for d in way.dodges)


def _hardness(way: Way) -> tuple[bool, int, int, float]:
    return not way.fits, len(way.conflicts), way.changes, way.light_s


def _way(how: How, base: Area, areas: Sequence[Area]) -> Way:
    dodges, burns, alike = [], [], []
    for area in areas:
        stops = area.stops - base.stops
        if stops < 0:
            dodges.append(Local(area.area, stops, dodge_seconds(base.seconds, -stops)))
        elif stops > 0:
            burns.append(Local(area.area, stops, burn_seconds(base.seconds, stops)))
        else:
            alike.append(area.area)
    # The longest dodge first: it begins with the light, and its end is the one that has to be heard. Burns as said.
    dodges.sort(key=lambda dodge: -dodge.seconds)
    return Way(how, base.seconds, tuple(alike), tuple(dodges), tuple(burns), _conflicts(base.seconds, dodges, burns))


def _conflicts(base: float, dodges: Sequence[Local], burns: Sequence[Local]) -> tuple[str, ...]:
    says = []
    held = sum(dodge.seconds for dodge in dodges)
    if held > base * (1 + 1e-9):
        says.append(
            f"the dodges need {held:.1f} s one after another, and the base is {base:.1f} s: hands do one thing at a time"
        )
    for dodge in dodges:
        size = format_stops(dodge.stops)
        if dodge.seconds > float(MAX_HELD) * base * (1 + 1e-9):
            says.append(
                f"{dodge.area} {size} is held back for {dodge.seconds:.1f} s, more than half of the base of {base:.1f} s: "
                "take a lower base and burn the rest"
            )
        elif dodge.seconds < MIN_CHANGE_S:
            says.append(_short(f"the dodge of {dodge.area} ({size})", dodge.seconds))
    rest = base - held
    if dodges and 0.05 < rest < MIN_CHANGE_S:
        says.append(_short("the light after the last dodge", rest))
    says += [
        _short(f"the burn of {burn.area} ({format_stops(burn.stops, signed=True)})", burn.seconds)
        for burn in burns
        if burn.seconds < MIN_CHANGE_S
    ]
    return tuple(says)


def _short(what: str, seconds: float) -> str:
    return f"{what} lasts {digits(seconds)} s, short for hands: a smaller aperture makes it {MIN_CHANGE_S:g} s or more"


def at_an_end(areas: Sequence[Area], count: int) -> tuple[str, ...]:
    """What to think of areas that were right on the first or the last of ``count`` patches: the right time may lie
    outside."""
    says = []
    for area in areas:
        if area.place == 1:
            says.append(f"{area.area} was right on the lightest patch: if it is still too dark there, test lower")
        elif area.place == count:
            says.append(f"{area.area} was right on the darkest patch: if it is still too light there, test higher")
    return tuple(says)
