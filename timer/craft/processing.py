"""Baths: their calls in time, their temperatures, their mixing. Seconds, degrees Celsius, millilitres.

Times come from the kit's leaflet: what ships here is a starting point and says so.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Vessel = Literal["drum", "tray"]
Drain = Literal["inside", "outside"]
DRAIN_S: dict[Drain, float] = {"inside": 10.0, "outside": 15.0}
"""Inside: the last 10 s of every step (US Army SS0514, colour). Outside: 15 s between baths (US Army SS0509, prints)."""
EARLY_S = 10.0
AGITATE_S = 30.0


@dataclass(frozen=True)
class Bath:
    """``seconds`` as the leaflet has them; ``light``: white light may be on from its end. No ``drain_s``: the usual one."""

    name: str
    seconds: float
    celsius: float | None = None
    drain_s: float | None = None
    light: bool = False

    def drains(self, drain: Drain) -> float:
        """Seconds of draining, where draining is ``inside`` or ``outside`` of the times."""
        return DRAIN_S[drain] if self.drain_s is None else self.drain_s


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
    draining = bath.drains(drain)
    drain_at = bath.seconds - draining if drain == "inside" else bath.seconds
    if drain_at <= 0:
        raise ValueError(f"{bath.name}: a drain of {draining:g} s does not fit inside {bath.seconds:g} s")
    end = total_seconds(bath, drain)
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
    """From the pour to the next pour."""
    return bath.seconds if drain == "inside" else bath.seconds + bath.drains(drain)


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


def parts(total_ml: float, ratio: str) -> list[float]:
    """``1+4`` of 500 ml is 100 and 400 ml. ValueError for what is no ratio."""
    try:
        shares = [float(part) for part in ratio.split("+")]
    except ValueError:
        shares = []
    if len(shares) < 2 or any(not 0 < s < 1000 for s in shares) or not 0 < total_ml < 1e5:
        raise ValueError(f"{ratio!r} is not how a bath is mixed; write it like 1+4 or 1+1+8")
    return [total_ml * share / sum(shares) for share in shares]


def parts_text(total_ml: float, ratio: str) -> list[str]:
    """The ``parts`` in figures, no ``ml``: three digits of the smallest one, down to the hundredth of a millilitre that a
    syringe shows, or to its second digit, or as fine as the total; together they are the total. ValueError as ``parts``.
    """
    amounts = parts(total_ml, ratio)
    first = math.floor(math.log10(min(amounts)))
    of_total = len(f"{total_ml:.2f}".rstrip("0").partition(".")[2])
    decimals = max(of_total, min(2, 2 - first), 1 - first)
    units = [round(amount * 10**decimals, 6) for amount in amounts]
    whole = [math.floor(unit) for unit in units]
    # What rounding down left goes where most was cut off; of equal cuts to the larger part, which it changes least.
    order = sorted(range(len(units)), key=lambda n: (whole[n] - units[n], -units[n]))
    for n in order[: round(total_ml * 10**decimals) - sum(whole)]:
        whole[n] += 1
    while decimals and all(unit % 10 == 0 for unit in whole):
        whole, decimals = [unit // 10 for unit in whole], decimals - 1
    return [f"{unit / 10**decimals:.{decimals}f}" for unit in whole]
