"""Lamps of the bench by name: filaments, LED, cold light; what bursts of them give to paper."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from timer.bench import filament as fil
from timer.craft.lamp_calibrate import fit
from timer.craft.lamp_response import LampResponse, on_time

USES = ("graded", "soft", "hard", "blue", "green", "red")


@dataclass(frozen=True)
class Led:
    """At once on and off; light falls by ``droop`` as it warms: two fifths in a second, the rest in minutes."""

    droop: float = 0.04

    def level(self, since: float) -> float:
        """Light ``since`` (s) it was switched on, as a share of the light at that moment."""
        return 1 - self.droop * (0.4 * -math.expm1(-since) + 0.6 * -math.expm1(-since / 180))


@dataclass(frozen=True)
class ColdLight:
    """A fluorescent tube: a strike, then output by its wall's temperature; ``wall`` is how cold it starts, 0 to 1.

    Plausible constants, not measured ones: half-width 26 K below the best wall temperature, minutes to warm and cool.
    """

    strike_s: float = 0.05
    warm_s: float = 240.0
    cool_s: float = 390.0
    below_k: float = 26.0

    def output(self, warmth: float) -> float:
        """Light at ``warmth`` (0 cold, 1 warm), over the warm tube's: half at ``below_k`` under the best."""
        return math.exp2(-(((1 - warmth) * self.below_k / 26.0) ** 2) * 0.8)


Lamp = fil.Filament | Led | ColdLight
LAMPS: dict[str, Lamp] = {**fil.PRESETS, "led": Led(), "cold-light": ColdLight()}


def doses(
    lamp: Lamp, bursts: Sequence[tuple[float, float]], bands: Sequence[str], supply: fil.Supply = fil.RATED
) -> list[dict[str, float]]:
    """Full-light seconds in each band from each (on, off) burst, the lamp cold before the first."""
    match lamp:
        case fil.Filament():
            return fil.burst_doses(lamp, bursts, bands, supply)
        case Led():
            return [dict.fromkeys(bands, _led(lamp, off - on)) for on, off in bursts]
        case ColdLight():
            return [dict.fromkeys(bands, dose) for dose in _cold_light(lamp, bursts)]


def _led(lamp: Led, seconds: float) -> float:
    """Integral of the level."""
    fast = seconds + math.expm1(-seconds)
    slow = seconds + 180 * math.expm1(-seconds / 180)
    return seconds - lamp.droop * (0.4 * fast + 0.6 * slow)


def _cold_light(lamp: ColdLight, bursts: Sequence[tuple[float, float]]) -> list[float]:
    warmth, before, out = 0.0, None, []
    for on, off in bursts:
        if before is not None:
            warmth *= math.exp(-(on - before) / lamp.cool_s)
        dose, now, step = 0.0, on + lamp.strike_s, 0.05
        while now < off:
            h = min(step, off - now)
            warmth = 1 - (1 - warmth) * math.exp(-h / lamp.warm_s)
            dose += h * lamp.output(warmth)
            now += h
        before = off
        out.append(dose)
    return out


class Burning:
    """A lamp lit burst by burst, in order of time; it remembers how warm it is."""

    def __init__(self, name: str) -> None:
        self._lamp = LAMPS[name]
        self._cooling: fil.Cooling | None = None
        self._bursts: list[tuple[float, float]] = []

    def light(self, on: float, off: float) -> dict[str, float]:
        """Full-light seconds that this burst adds, in each band."""
        if isinstance(self._lamp, fil.Filament):
            self._cooling, light = fil.next_light(self._lamp, self._cooling, on, off, USES)
            return light
        self._bursts.append((on, off))  # a tube takes minutes to warm: all of its evening counts
        return doses(self._lamp, self._bursts, USES)[-1]


def trace(
    name: str,
    bursts: Sequence[tuple[float, float]],
    use: str,
    end: float,
    *,
    step: float = 0.002,
    supply: fil.Supply = fil.RATED,
) -> tuple[list[float], list[float]]:
    """(seconds, light over steady) from 0 to ``end``, as a sensor in band ``use`` would record ``bursts`` of the lamp."""
    lamp = LAMPS[name]
    times = [n * step for n in range(round(end / step) + 1)]
    if isinstance(lamp, fil.Filament):
        return times, fil.light_levels(lamp, bursts, use, times, supply)
    since = [next((t - on for on, off in bursts if on <= t < off), None) for t in times]
    if isinstance(lamp, Led):
        return times, [0.0 if s is None else lamp.level(s) for s in since]
    raise ValueError("a cold-light tube has no steady light that its trace could be measured by")


@cache
def response_of(name: str, use: str) -> LampResponse:
    """What a careful printer would calibrate this lamp to, for ``use``: from doses, cold and after rests."""
    lamp = LAMPS[name]

    def dose(on: float) -> float:
        return doses(lamp, [(0.0, on)], [use])[0][use]

    def gap_dose(gap: float) -> float:
        """Of a second 2 s burst, with what its start cut off of the first one's glow taken from it."""
        first, second = doses(lamp, [(0.0, 4.0), (4.0 + gap, 6.0 + gap)], [use])
        return first[use] + second[use] - dose(4.0)

    if not isinstance(lamp, fil.Filament):
        return LampResponse()  # nothing that a time offset could repair
    return fit(dose, gap_dose)


COLOUR_BY = "green"
"""The layer that colour paper is timed by, where each has its response: red lags less, blue more."""


def bursts_against_one(
    name: str,
    count: int,
    seconds: float,
    gap: float,
    *,
    corrected: bool,
    timed_by: str = "",
    mains: float = 1.0,
) -> dict[str, float]:
    """Stops from one exposure of ``count`` x ``seconds`` to ``count`` bursts of ``seconds``, in each band.

    ``corrected``: every lamp-on time, the long one's too, is the one that a run asks for: by the calibrated response of
    the band itself, or of ``timed_by`` for all, and by the rest since the lamp was last on. ``mains`` is the supply over
    the one that the lamp was calibrated on.
    """
    lamp, supply = LAMPS[name], fil.Supply(level=mains)
    out = {}
    for band in USES:
        response = response_of(name, timed_by or band) if corrected else LampResponse()
        begin, bursts = 0.0, []
        for n in range(count):
            on = on_time(seconds, response, gap if n else math.inf)
            bursts.append((begin, begin + on))
            begin += on + gap
        short = sum(dose[band] for dose in doses(lamp, bursts, [band], supply))
        (long,) = doses(lamp, [(0.0, on_time(count * seconds, response))], [band], supply)
        out[band] = math.log2(short / long[band])
    return out
