"""A filament lamp on a supply: temperature in time, and the light it gives to paper, band by band.

One body of tungsten: m cp dT/dt = U^2 R/(R + Rs)^2 - F A e sigma (T^4 - T0^4) - k (T - T0). Length and thickness of the
wire follow from the rating (volts, watts, kelvin); F, the share of the wire's surface that radiates outward from a
coil, is the one free number, set so that a 100 W 120 V lamp reaches 90 % of its light in the published 0.13 s.
Halogen times are uncertain by -10 to +35 %, so calibrate your own lamp; this is for practice and for tests.

Light in a band is exp(-B (1/T - 1/T_rated)), with B from published paper and eye sensitivities seen through Planck's
law and De Vos' emissivity; within 0.6 % from 2600 to 3500 K.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from timer.bench.tungsten import STEFAN_BOLTZMANN, density, emissivity, heat_capacity, resistivity

ROOM_K = 300.0
BANDS = {
    "graded": 30183.0, "soft": 27214.0, "hard": 32359.0,
    "blue": 30716.0, "green": 26060.0, "red": 20753.0, "eye": 25078.0,
}  # fmt: skip
COIL = 0.75
"""F, calibrated as said above (tests/bench/test_filament.py)."""
GLOW_S = 3.0
"""Seconds in the dark after which a filament gives nothing that paper sees."""
GAS_FILLED, CAPSULE = 0.13, 0.075
"""Share of the rated power that goes off by gas and leads: of ordinary bulbs of 100 W, and of halogen capsules, whose
short thick coil in a heavy gas loses 7 to 8 %. Both from memory; the first gives the published exponents."""


@dataclass(frozen=True)
class Filament:
    """A rating: ``volts``, ``watts``, running ``kelvin``; ``source`` is the supply's resistance over the hot lamp's.

    ``conducted`` is the share of the rated power that is not radiated.
    """

    volts: float
    watts: float
    kelvin: float
    source: float = 0.0
    coil: float = COIL
    conducted: float = GAS_FILLED

    @cached_property
    def hot_ohms(self) -> float:
        """Resistance at the rated voltage."""
        return self.volts**2 / self.watts

    @cached_property
    def radius(self) -> float:
        """Of the running wire, metres: from hot resistance and radiated power together."""
        radiated = self.watts * (1 - self.conducted)
        t = self.kelvin
        surface = self.coil * emissivity(t) * STEFAN_BOLTZMANN * (t**4 - ROOM_K**4)
        return float((radiated * resistivity(t) / (2 * math.pi**2 * self.hot_ohms * surface)) ** (1 / 3))

    @cached_property
    def length(self) -> float:
        """Of the running wire, metres."""
        return self.hot_ohms * math.pi * self.radius**2 / resistivity(self.kelvin)

    @cached_property
    def mass(self) -> float:
        """Of the wire, kg."""
        return math.pi * self.radius**2 * self.length * density(self.kelvin)

    def _grown(self, t: float) -> float:
        """Length at ``t`` (K) over that of the running wire: a cooler wire is shorter."""
        return float((density(self.kelvin) / density(t)) ** (1 / 3))

    def ohms(self, t: float) -> float:
        """Resistance at ``t`` (K)."""
        return resistivity(t) * self.length / (math.pi * self.radius**2) / self._grown(t)

    def lost(self, t: float) -> float:
        """Watts lost at temperature ``t`` (K)."""
        area = 2 * math.pi * self.radius * self.length * self._grown(t) ** 2 * self.coil
        conducted = self.conducted * self.watts / (self.kelvin - ROOM_K)
        return emissivity(t) * STEFAN_BOLTZMANN * area * (t**4 - ROOM_K**4) + conducted * (t - ROOM_K)

    @cached_property
    def open_volts(self) -> float:
        """What the supply gives with nothing drawn, so that the hot lamp has its rated volts."""
        return self.volts * (1 + self.source)

    @cached_property
    def table(self) -> tuple[list[float], list[float]]:
        """At 290 K and every 4 K above: warming by one volt squared, and cooling, both in K/s. The integrator reads it."""
        temps = [290.0 + 4 * n for n in range(870)]
        source = self.source * self.hot_ohms
        heats, losses = [], []
        for t in temps:
            ohms, capacity = self.ohms(max(t, ROOM_K)), self.mass * heat_capacity(max(t, ROOM_K))
            heats.append(ohms / (ohms + source) ** 2 / capacity)
            losses.append(self.lost(t) / capacity)
        return heats, losses

    @cached_property
    def steady(self) -> float:
        """Running temperature on the rated supply."""
        return steady_kelvin(self, 1.0)


PRESETS = {
    "halogen-12v-100w": Filament(12, 100, 3300, conducted=CAPSULE),
    "halogen-12v-100w-transformer": Filament(12, 100, 3300, source=0.10, conducted=CAPSULE),
    "halogen-24v-150w": Filament(24, 150, 3300, conducted=CAPSULE),
    "halogen-24v-250w": Filament(24, 250, 3400, conducted=CAPSULE),
    "opal-230v-75w": Filament(230, 75, 2750),
}
"""Running temperatures are assumptions from typical ratings; a maker's sheet is better. A small transformer of 10 %
regulation feeds one of them; the others hang on stiff supplies."""


def steady_kelvin(lamp: Filament, mains: float) -> float:
    """Temperature at which what comes in goes out, at ``mains`` times the rated supply."""
    low, high = ROOM_K, 3690.0
    volts = lamp.open_volts * mains
    for _ in range(60):
        t = (low + high) / 2
        ohms = lamp.ohms(t)
        if volts**2 * ohms / (ohms + lamp.source * lamp.hot_ohms) ** 2 > lamp.lost(t):
            low = t
        else:
            high = t
    return (low + high) / 2


def band_light(lamp: Filament, t: float, band: str) -> float:
    """Light in ``band`` at ``t`` over that at the rated running temperature."""
    return math.exp(-BANDS[band] * (1 / t - 1 / lamp.steady)) if t > 900 else 0.0


@dataclass(frozen=True)
class Supply:
    """Mains: ``level`` times the rated, drifting by ``drift`` a minute, with full-wave ripple at ``hertz`` if not 0."""

    level: float = 1.0
    drift: float = 0.0
    hertz: float = 0.0

    def squared(self, t: float) -> float:
        """Square of the voltage over the rated, at ``t`` seconds."""
        level = self.level + self.drift * t / 60
        if self.hertz:
            return level * level * 2 * math.sin(math.pi * 2 * self.hertz * t) ** 2
        return level * level


RATED = Supply()


def burst_doses(
    lamp: Filament,
    bursts: Sequence[tuple[float, float]],
    bands: Sequence[str],
    supply: Supply = RATED,
    *,
    start: float = ROOM_K,
    step: float = 0.001,
) -> list[dict[str, float]]:
    """Full-light seconds in each band from each burst, its afterglow with it.

    ``bursts`` are (on, off) in seconds, in order and apart. ``start`` is the filament's temperature before the first.
    Fourth-order Runge-Kutta of ``step``, in a table of the filament's rates; a settled filament is not stepped.
    """
    doses = []
    t, now = start, bursts[0][0] if bursts else 0.0
    for n, (on, off) in enumerate(bursts):
        t, _ = _run(lamp, t, now, on, (), supply, lit=False, step=step)
        t, light = _run(lamp, t, on, off, bands, supply, lit=True, step=step)
        until = bursts[n + 1][0] if n + 1 < len(bursts) else off + GLOW_S
        glow_end = min(until, off + GLOW_S)
        t, glow = _run(lamp, t, off, glow_end, bands, supply, lit=False, step=step)
        now = glow_end
        doses.append({band: light[band] + glow[band] for band in bands})
    return doses


@dataclass(frozen=True)
class Cooling:
    """A filament that went ``off`` at ``kelvin``, and the full-light seconds that its ``glow`` would give in the dark."""

    kelvin: float
    off: float
    glow: dict[str, float]


def next_light(
    lamp: Filament, before: Cooling | None, on: float, off: float, bands: Sequence[str], supply: Supply = RATED
) -> tuple[Cooling, dict[str, float]]:
    """One more burst: what cools after it, and the light it adds to all that was told before.

    Its own glow is counted whole; what a next burst cuts off of that is taken from the next one's light.
    """
    t, cut = ROOM_K, dict.fromkeys(bands, 0.0)
    if before:
        glow_end = min(on, before.off + GLOW_S)
        t, seen = _run(lamp, before.kelvin, before.off, glow_end, bands, supply, lit=False, step=0.001)
        t, _ = _run(lamp, t, glow_end, on, (), supply, lit=False, step=0.001)
        cut = {band: before.glow[band] - seen[band] for band in bands}
    t, light = _run(lamp, t, on, off, bands, supply, lit=True, step=0.001)
    _, glow = _run(lamp, t, off, off + GLOW_S, bands, supply, lit=False, step=0.001)
    return Cooling(t, off, glow), {band: light[band] + glow[band] - cut[band] for band in bands}


def light_levels(
    lamp: Filament, bursts: Sequence[tuple[float, float]], band: str, times: Sequence[float], supply: Supply = RATED
) -> list[float]:
    """Light in ``band`` over its steady level at each of ``times``, which go up: what a sensor under the lens would see."""
    t, now, out = ROOM_K, times[0], []
    edges = sorted(edge for burst in bursts for edge in burst)
    for at in times:
        while now < at:
            until = min([at, *(edge for edge in edges if edge > now)])
            lit = any(on <= now < off for on, off in bursts)
            t, _ = _run(lamp, t, now, until, (), supply, lit=lit, step=0.001)
            now = until
        out.append(band_light(lamp, t, band))
    return out


def _run(
    lamp: Filament,
    t: float,
    begin: float,
    end: float,
    bands: Sequence[str],
    supply: Supply,
    *,
    lit: bool,
    step: float,
) -> tuple[float, dict[str, float]]:
    """Temperature at ``end``, and the light between by Simpson's rule in each step, at the integrator's own middle."""
    heats, losses = lamp.table
    volts2 = lamp.open_volts**2
    rates = [(band, BANDS[band]) for band in bands]
    inverse = 1 / lamp.steady
    total = dict.fromkeys(bands, 0.0)
    constant = not (supply.hertz or supply.drift)
    power = volts2 * supply.squared(begin) if lit else 0.0
    now = begin
    exp = math.exp

    def slope(k: float, p: float) -> float:
        x = (k - 290.0) * 0.25
        n = int(x)
        r = x - n
        return p * (heats[n] + r * (heats[n + 1] - heats[n])) - (losses[n] + r * (losses[n + 1] - losses[n]))

    while now < end - 1e-12:
        h = min(step, end - now)
        if lit and not constant:
            p0, pm, p1 = (volts2 * supply.squared(now + part * h) for part in (0.0, 0.5, 1.0))
        else:
            p0 = pm = p1 = power
        k1 = slope(t, p0)
        if constant and abs(k1) < 0.02:  # settled: the rest is level
            rest = end - now
            for band, b in rates:
                total[band] += rest * (exp(-b * (1 / t - inverse)) if t > 900 else 0.0)
            break
        k2 = slope(t + 0.5 * h * k1, pm)
        k3 = slope(t + 0.5 * h * k2, pm)
        k4 = slope(t + h * k3, p1)
        after = t + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
        if after > 900 and rates:
            middle = (t + after) / 2 + h / 8 * (k1 - k4)
            for band, b in rates:
                low = exp(-b * (1 / t - inverse)) if t > 900 else 0.0
                total[band] += h / 6 * (low + 4 * exp(-b * (1 / middle - inverse)) + exp(-b * (1 / after - inverse)))
        t = after
        now += h
        if not lit and not rates and t < 320:
            break
    return t, total


def rise_time(lamp: Filament, share: float, band: str) -> float:
    """Seconds from switching on cold until the light in ``band`` first reaches ``share`` of its full level."""
    t, now, step = ROOM_K, 0.0, 0.0005
    while band_light(lamp, t, band) < share:
        t, _ = _run(lamp, t, now, now + step, (), RATED, lit=True, step=step)
        now += step
        if now > 20:
            raise ValueError(f"this lamp never reaches {share:g} of its light")
    return now


def at_mains(lamp: Filament, mains: float, band: str) -> float:
    """Steady light in ``band`` at ``mains`` times the rated supply."""
    return band_light(lamp, steady_kelvin(lamp, mains), band)
