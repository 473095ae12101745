"""Baths: their calls in time, their temperatures, how much of them a sheet needs. Seconds, degrees Celsius, millilitres.

Times come from the kit's leaflet: what ships here is a starting point and says so.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Vessel = Literal["drum", "tray"]
Drain = Literal["inside", "outside"]
DRAIN_S = 10.0
EARLY_S = 10.0
AGITATE_S = 30.0


@dataclass(frozen=True)
class Bath:
    """``seconds`` as the leaflet has them; ``light``: white light may be on from its end."""

    name: str
    seconds: float
    celsius: float | None = None
    drain_s: float = DRAIN_S
    light: bool = False


@dataclass(frozen=True)
class Call:
    """At ``at`` seconds of its bath's clock: what is to be done. Kinds: pour, agitate, soon, drain, over."""

    at: float
    kind: str
    say: str


def calls(bath: Bath, drain: Drain, vessel: Vessel) -> tuple[Call, ...]:
    """What is called during one bath, from the pour (or the sheet going in) to its end.

    Draining ``inside``: the bath's time ends when it is drained, as colour processing does (US Army SS0514: drain in
    the last 10 s of every step); ``outside``: it begins to drain when its time is up. The early warning comes 10 s
    before the drain, or halfway in short baths.
    """
    start = f"{bath.name}: pour in, roll at once" if vessel == "drum" else f"{bath.name}: slide it in, rock"
    drain_at = bath.seconds - bath.drain_s if drain == "inside" else bath.seconds
    if drain_at <= 0:
        raise ValueError(f"{bath.name}: a drain of {bath.drain_s:g} s does not fit inside {bath.seconds:g} s")
    end = bath.seconds if drain == "inside" else bath.seconds + bath.drain_s
    soon = max(drain_at - EARLY_S, drain_at / 2)
    out = [Call(0.0, "pour", start)]
    keep = "keep rolling, level" if vessel == "drum" else "keep rocking"
    out += [Call(at, "agitate", keep) for at in _every(AGITATE_S, soon)]
    out.append(Call(soon, "soon", f"{bath.name}: drain soon" if vessel == "drum" else f"{bath.name}: lift soon"))
    out.append(Call(drain_at, "drain", "drain" if vessel == "drum" else "lift, drain by one corner"))
    out.append(Call(end, "over", f"{bath.name} over"))
    return tuple(out)


def _every(step: float, end: float) -> list[float]:
    return [n * step for n in range(1, math.ceil(end / step)) if end - n * step > 5]


def total_seconds(bath: Bath, drain: Drain) -> float:
    return bath.seconds if drain == "inside" else bath.seconds + bath.drain_s


def time_at(table: Sequence[tuple[float, float]], celsius: float) -> float:
    """Seconds at ``celsius`` from the printer's own table of (celsius, seconds), interpolated in log time.

    ValueError outside of the table: development beyond what the leaflet has is not guessed.
    """
    rows = sorted(table)
    if len(rows) < 2 or any(a[0] == b[0] for a, b in itertools.pairwise(rows)):
        raise ValueError("a temperature table has two different temperatures or more")
    if not rows[0][0] <= celsius <= rows[-1][0]:
        raise ValueError(f"{celsius:g} °C is outside of the table, which has {rows[0][0]:g} to {rows[-1][0]:g} °C")
    high = next(n for n in range(1, len(rows)) if celsius <= rows[n][0])
    (t0, s0), (t1, s1) = rows[high - 1], rows[high]
    share = (celsius - t0) / (t1 - t0)
    return float(s0 * (s1 / s0) ** share)


# ── volumes ──────────────────────────────────────────────────────────────────

PER_UNIT_ML = {"drum": 70.0, "tray": 250.0}
"""Solution for a sheet of 8x10: common practice, and tube makers' leaflets from memory. Your leaflet and drum decide."""
LEAST_ML = {"drum": 60.0, "tray": 500.0}


@dataclass(frozen=True)
class Volume:
    ml: float
    area: float
    why: str


def volume(area: float, sheets: int, vessel: Vessel, *, per_unit: float | None = None, least: float | None = None) -> Volume:
    """Solution for ``sheets`` of ``area`` (in 8x10s) each: by area, and no less than the vessel needs to work."""
    if sheets < 1 or not 0 < area < 100:
        raise ValueError("a volume is reckoned for one sheet or more")
    unit = PER_UNIT_ML[vessel] if per_unit is None else per_unit
    floor = LEAST_ML[vessel] if least is None else least
    by_area = unit * area * sheets
    why = f"{area * sheets:.2f} sheets of 8x10 at {unit:g} ml each is {by_area:.0f} ml"
    if by_area < floor:
        return Volume(floor, area * sheets, f"{why}; the {vessel} needs {floor:g} ml to work, so {floor:g} ml")
    return Volume(math.ceil(by_area / 5) * 5, area * sheets, f"{why}, rounded up to 5 ml")


def parts(total_ml: float, ratio: str) -> list[float]:
    """``1+4`` of 500 ml is 100 and 400 ml. ValueError for what is no ratio."""
    try:
        shares = [float(part) for part in ratio.split("+")]
    except ValueError:
        shares = []
    if len(shares) < 2 or any(not 0 < s < 1000 for s in shares) or not 0 < total_ml < 1e5:
        raise ValueError(f"{ratio!r} is not how a bath is mixed; write it like 1+4 or 1+1+8")
    return [total_ml * share / sum(shares) for share in shares]


UNEVEN = (
    "one edge light: level the drum both ways; the tray is rocked from all sides in turn",
    "streaks: reverse the rotation every few turns; do not skip the stop bath",
    "tide marks: pour faster; pre-wet when the volume is small",
    "blotches: dry the drum and its lid inside before the next sheet",
)
"""Against uneven development; common practice."""
