"""Drums and trays as their owner measured them: how many sheets fit, which way, how much solution wets them evenly, and,
apart from that, how much they use up. Millimetres, millilitres; areas of solution in sheets of 8x10.
"""

import math
from dataclasses import dataclass
from typing import Literal

from timer.craft.enlargement import Size

Kind = Literal["drum", "tray"]
UNIT_MM2 = 203.2 * 254.0
"""A sheet of 8x10 in."""
ROOM_MM = 2.0
"""Free room that a sheet wants at its side, against the next one and against a rib: sheets are cut to a millimetre."""
POOL_MM = 7.0
"""Depth of the pool in the bottom of a rolling drum that still reaches both its ends when it lies a little out of level:
our own choice, so that a drum for one 8x10 comes to the 60 ml that are usual for it (common practice)."""
SMALLEST_DRUM_MM = (260.0, 270.0)
"""Inside length and circumference, mm, of a drum for one 8x10, the smallest there is."""
COVER_MM = 12.5
"""Solution over a print in a tray: about half an inch (*Processing*, projectsjugaad.com; a damaged scan of it)."""
USED_UP_ML = 70.0
"""Colour developer that a sheet of 8x10 uses up, one-shot: tube makers' leaflets from memory. Your kit's leaflet decides."""
MARGIN_MM = 20.0
"""What a tray that nobody has measured is taken to be larger than its sheet, on every side."""


@dataclass(frozen=True)
class Drum:
    """``length`` inside, lid on, and ``round``, the inner circumference, ribs and lips left out.

    ``least``: the printer's own ml that wet it evenly, instead of what its measures give.
    """

    name: str
    length: float
    round: float
    least: float | None = None

    @property
    def kind(self) -> Kind:
        """Always drum."""
        return "drum"

    def __str__(self) -> str:
        return f"{self.name} (drum, {self.length:g} mm long and {self.round:g} mm round inside)"


@dataclass(frozen=True)
class Tray:
    """``short`` and ``long`` side of its bottom."""

    name: str
    short: float
    long: float
    least: float | None = None

    @property
    def kind(self) -> Kind:
        """Always tray."""
        return "tray"

    def __str__(self) -> str:
        return f"{self.name} (tray, {self.short:g} x {self.long:g} mm at the bottom)"


Vessel = Drum | Tray


@dataclass(frozen=True)
class Fit:
    """``count`` sheets at once, and how they lie."""

    count: int
    way: str


def check(vessel: Vessel) -> None:
    """ValueError for measures that no vessel has."""
    sides = (vessel.length, vessel.round) if isinstance(vessel, Drum) else (vessel.short, vessel.long)
    if not all(50 <= side <= 2000 for side in sides):
        raise ValueError(f"{vessel}: the measures of a {vessel.kind} are 50 to 2000 mm; give them in mm, or like 41.5cm")
    if vessel.least is not None and not 0 < vessel.least <= 20_000:
        raise ValueError(f"{vessel.name}: the least it works with is 1 to 20000 ml")


def fit(vessel: Vessel, sheet: Size) -> Fit:
    """How many sheets go into ``vessel`` at once without touching, all the same way, and which; 0 when it is too small."""
    if isinstance(vessel, Tray):
        straight = _row(vessel.long, sheet.long) * _row(vessel.short, sheet.short)
        turned = _row(vessel.long, sheet.short) * _row(vessel.short, sheet.long)
        return Fit(max(straight, turned), "")
    straight = _row(vessel.length, sheet.long) * _ring(vessel.round, sheet.short)
    turned = _row(vessel.length, sheet.short) * _ring(vessel.round, sheet.long)
    # The same number both ways: what is shorter along the drum is less affected by a tilt.
    if straight > turned:
        return Fit(straight, "long side along the drum")
    return Fit(turned, "long side round the drum" if turned else "")


def _row(room: float, side: float) -> int:
    """How many times ``side`` goes into ``room``; one alone needs no room beside it."""
    return _ring(room + ROOM_MM, side)


def _ring(around: float, side: float) -> int:
    """The same round the wall of a drum, where the last lies beside the first: as many gaps as sheets, one alone has one
    between its ends."""
    return int((around + 1e-6) // (side + ROOM_MM))


def wets(vessel: Vessel) -> float:
    """The least ml that wet every sheet in ``vessel`` evenly, however few there are."""
    if vessel.least is not None:
        return vessel.least
    if isinstance(vessel, Tray):
        return vessel.short * vessel.long * COVER_MM / 1000
    return pool(vessel.length, vessel.round, POOL_MM)


def pool(length: float, around: float, depth: float) -> float:
    """Ml in the bottom of a lying drum, ``depth`` mm deep at the deepest: a segment of its circle, times its length."""
    radius = around / (2 * math.pi)
    depth = min(depth, 2 * radius)
    angle = math.acos((radius - depth) / radius)
    return length * (radius**2 * angle - (radius - depth) * math.sqrt(2 * radius * depth - depth**2)) / 1000


def unmeasured(kind: Kind, sheet: Size, sheets: int) -> Vessel:
    """The usual vessel for such sheets where nobody has measured one: a drum just long enough, or a tray a size larger."""
    if kind == "tray":
        return Tray("a tray a little larger", sheet.short + 2 * MARGIN_MM, sheet.long + 2 * MARGIN_MM)
    length, around = SMALLEST_DRUM_MM
    return Drum("a drum it just fits into", max(length, sheets * (sheet.short + ROOM_MM)), max(around, sheet.long + ROOM_MM))


@dataclass(frozen=True)
class Filling:
    """``ml`` to pour in; of which ``wets`` for evenness and ``uses`` for the chemistry; whichever is more, rounded up.

    A tray is filled by ``wets`` alone, and ``uses`` of what is in it is used up by these sheets.
    """

    ml: float
    wets: float
    uses: float
    area: float
    why: str


def filling(vessel: Vessel, sheet: Size, sheets: int, *, per_unit: float = USED_UP_ML) -> Filling:
    """What to pour for ``sheets`` at once. ValueError, in words, when they do not fit."""
    found = fit(vessel, sheet)
    size = f"{sheet.short:.0f} x {sheet.long:.0f} mm"
    if found.count == 0:
        raise ValueError(f"a sheet of {size} does not fit into {vessel}")
    if sheets > found.count:
        raise ValueError(f"{vessel} takes {found.count} of {size} at once, not {sheets}; do the others in another run")
    area = sheet.area * sheets / UNIT_MM2
    least, used = wets(vessel), per_unit * area
    chemistry = f"{area:.2f} sheets of 8x10 use up {used:.0f} ml at {per_unit:g} ml each"
    if isinstance(vessel, Tray):
        depth = "your own measure" if vessel.least is not None else f"{COVER_MM:g} mm deep"
        why = f"{least:.0f} ml cover the print ({depth}); of them {chemistry}"
        return Filling(_round_up(least), least, used, area, why)
    reach = "your own measure" if vessel.least is not None else f"a pool {POOL_MM:g} mm deep from end to end"
    why = f"{least:.0f} ml wet it evenly ({reach}); {chemistry}"
    return Filling(_round_up(max(least, used)), least, used, area, why)


def _round_up(ml: float) -> float:
    return math.ceil(round(ml, 6) / 5) * 5


# ── evenness ─────────────────────────────────────────────────────────────────

EVEN: dict[Kind, tuple[str, ...]] = {
    "drum": (
        "one edge light: lay a spirit level along the roller and across it, and shim it (2 min, once an evening)",
        "tide marks: all of it in within 5 s, the drum rolling or turned at once (no time)",
        "streaks: turn both ways, some turns each, and do not skip the stop bath (30 s and the drain)",
        "one end lighter: pour more than the least; or pre-wet (30 s and the drain before every sheet)",
        "blotches: dry the drum, its lid and your hands before the next sheet (a minute or two)",
    ),
    "tray": (
        "tide marks: the whole sheet under within 2 s, face up, then face down and up again (no time)",
        "streaks: rock from all four sides in turn, one after another, from start to end (no time)",
        "light edges: 12 mm of solution over the print, in a tray larger than the print (no time, more solution)",
        "marks where it was held: tongs or gloves, another corner each time; drain by one corner, 10 to 15 s",
        "several at once: one after another through the pile, bottom sheet to the top (no time)",
    ),
}
"""What to do against uneven development, in brackets the time that it costs: common practice."""

CARE = "Gloves or tongs for every bath, eye protection, fresh air, acid into water, no food; your kit's leaflet first."
