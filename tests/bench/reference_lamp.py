"""A second filament, to judge the first by: no code of the project, other mathematics, and its own choice of published data.

Resistivity: Forsythe and Worthing (1925) by the CRC Handbook's table. The rest in two sets. ``recommended``: White and
Minges' heat capacity and Wilthan's above 3080 K, as Tolias (2017) recommends, and Matsumoto, Cezairliyan and Basak's total
emissivity (1999), as a table. ``older``: NIST-JANAF's Shomate fit (Chase 1998), and Jones and Langmuir's radiated power
(1927), from memory. Light: Planck's law at one wavelength a band. What one calls a lamp is the same as on the bench: a
rating, the share that is conducted, and one number F, the share of the wire that radiates outward, set by the published
0.13 s of a 100 W 120 V bulb (Wikipedia "Incandescent light bulb", GE TP-110).

One heating curve from cold and one cooling curve from hot are integrated by scipy. A filament at any temperature is
somewhere on each, so any train of bursts is a walk along the two curves.
"""

import math
from collections.abc import Sequence
from functools import cache

import numpy as np
from scipy.integrate import cumulative_trapezoid, solve_ivp
from scipy.optimize import brentq

KELVIN = np.array([300, *range(400, 3700, 100)], dtype=float)
MICRO_OHM_CM = np.fromstring(
    "5.65 8.06 10.56 13.23 16.09 19.00 21.94 24.93 27.94 30.98 34.08 37.19 40.36 43.55 46.78 50.05 53.35 56.67 60.06 "
    "63.48 66.91 70.39 73.91 77.49 81.04 84.70 88.33 92.04 95.76 99.54 103.3 107.2 111.1 115.0",
    sep=" ",
)
EMISSIVITY = {
    300: 0.0185,
    800: 0.0943,
    1200: 0.1487,
    1600: 0.1973,
    2000: 0.2404,
    2400: 0.2779,
    2800: 0.3096,
    3200: 0.3357,
    3600: 0.3562,
}
W_CM2 = {300: 0.0, 500: 0.0030, 1000: 0.648, 1500: 5.57, 2000: 24.04, 2500: 69.9, 3000: 157.4, 3600: 345.0}
SIGMA, ROOM = 5.670374419e-8, 300.0
NANOMETRES = {"graded": 476.7, "soft": 528.7, "hard": 444.6, "blue": 468.4, "green": 552.1, "red": 693.3, "eye": 573.7}
"""Where Planck's law has the slope against temperature that the paper's whole band has: c2 / B of the bench's bands."""


def _resistivity(t: float) -> float:
    return float(np.interp(t, KELVIN, MICRO_OHM_CM)) * 1e-8


def _grown(t: float) -> float:
    """Length over the cold one: the expansion that separates the table's resistivities from White and Minges'."""
    return 1 + 4.4e-6 * (t - 293) + 4e-10 * (t - 293) ** 2


def _heat_capacity(t: float, data: str) -> float:
    if data == "recommended":
        low = 21.868372 + 8.068661e-3 * t - 3.756196e-6 * t**2 + 1.075862e-9 * t**3 + 1.406637e4 / t**2
        return (low if t <= 3080 else 2.022 + 1.315e-2 * t) / 0.18384
    x = t / 1000
    if t < 1900:
        a, b, c, d, e = 23.95930, 2.639680, 1.257750, -0.254642, -0.048407
    else:
        a, b, c, d, e = -22.57640, 90.27980, -44.27150, 7.176630, -24.09740
    return (a + b * x + c * x * x + d * x**3 + e / (x * x)) / 0.18384


def _emissivity(t: float, data: str) -> float:
    if data == "recommended":
        return float(np.interp(t, list(EMISSIVITY), list(EMISSIVITY.values())))
    points = [(k, w * 1e4 / (SIGMA * k**4)) for k, w in W_CM2.items() if w]
    return float(np.interp(t, [k for k, _ in points], [e for _, e in points]))


def _planck(nanometres: float, t: np.ndarray) -> np.ndarray:
    return 1 / np.expm1(1.438776877e7 / (nanometres * t))


class ReferenceLamp:
    def __init__(
        self,
        volts: float,
        watts: float,
        kelvin: float,
        conducted: float,
        source: float = 0.0,
        data: str = "recommended",
        f: float | None = None,
    ) -> None:
        f = radiating_share(data) if f is None else f
        ohms = volts**2 / watts
        flux = f * _emissivity(kelvin, data) * SIGMA * kelvin**4
        radiated = watts * (1 - conducted)
        # Of the cold wire: radiated = 2 pi r l grown^2 flux and ohms = rho l / (pi r^2), two equations. The table's
        # resistivity is for cold lengths.
        flux *= _grown(kelvin) ** 2
        radius = (radiated * _resistivity(kelvin) / (2 * math.pi**2 * ohms * flux)) ** (1 / 3)
        length = ohms * math.pi * radius**2 / _resistivity(kelvin)
        area, section = 2 * math.pi * radius * length, math.pi * radius**2
        mass = 19250 * section * length
        supply, inner = volts * (1 + source), source * ohms

        def off(_: float, y: np.ndarray) -> list[float]:
            t = max(float(y[0]), ROOM)
            lost = area * _grown(t) ** 2 * f * _emissivity(t, data) * SIGMA * (t**4 - ROOM**4) + conducted * watts * (
                t - ROOM
            ) / (kelvin - ROOM)
            return [-lost / (mass * _heat_capacity(t, data))]

        def on(_: float, y: np.ndarray) -> list[float]:
            t = max(float(y[0]), ROOM)
            r = _resistivity(t) * length / section
            return [off(0, y)[0] + supply**2 * r / (r + inner) ** 2 / (mass * _heat_capacity(t, data))]

        self.rise = np.arange(0, 6, 0.0005)
        self.fall = np.concatenate([np.arange(0, 3, 0.0005), np.arange(3, 90, 0.02)])
        options = {"method": "LSODA", "rtol": 1e-8, "atol": 1e-6}
        self.heating = solve_ivp(on, (0, 6), [ROOM], t_eval=self.rise, **options).y[0]
        self.hot = float(self.heating[-1])
        self.cooling = solve_ivp(off, (0, 90), [self.hot], t_eval=self.fall, **options).y[0]

    @cache  # noqa: B019
    def _light(self, band: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        full = _planck(NANOMETRES[band], np.array([self.hot]))[0]
        up, down = (_planck(NANOMETRES[band], t) / full for t in (self.heating, self.cooling))
        return up, cumulative_trapezoid(up, self.rise, initial=0), cumulative_trapezoid(down, self.fall, initial=0)

    def rise_time(self, share: float, band: str) -> float:
        return float(self.rise[np.argmax(self._light(band)[0] >= share)])

    def doses(self, bursts: Sequence[tuple[float, float]], band: str) -> list[float]:
        """Full-light seconds of each (on, off) burst, its glow up to the next one with it."""
        _, given, glow = self._light(band)
        out, t, before = [], ROOM, None
        for n, (begin, end) in enumerate(bursts):
            if before is not None:
                at = float(np.interp(-t, -self.cooling, self.fall)) + begin - before
                t = float(np.interp(at, self.fall, self.cooling))
            start = float(np.interp(t, self.heating, self.rise))
            stop = start + end - begin
            light = self._given(given, stop) - self._given(given, start)
            t = float(np.interp(stop, self.rise, self.heating))
            at = float(np.interp(-t, -self.cooling, self.fall))
            rest = bursts[n + 1][0] - end if n + 1 < len(bursts) else 60.0
            light += float(np.interp(at + rest, self.fall, glow) - np.interp(at, self.fall, glow))
            out.append(light)
            before = end
        return out

    def _given(self, given: np.ndarray, at: float) -> float:
        beyond = max(0.0, at - float(self.rise[-1]))
        return float(np.interp(at, self.rise, given)) + beyond


@cache
def radiating_share(data: str) -> float:
    def late(f: float) -> float:
        return ReferenceLamp(120, 100, 2860, 0.13, data=data, f=f).rise_time(0.9, "eye") - 0.13

    return float(brentq(late, 0.4, 1.2, xtol=0.002))


@cache
def reference(
    volts: float, watts: float, kelvin: float, conducted: float, source: float, data: str = "recommended"
) -> ReferenceLamp:
    return ReferenceLamp(volts, watts, kelvin, conducted, source, data)
