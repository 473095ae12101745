"""A black-and-white paper's own curve from readings, and its ISO range R and speed P. ``docs/method.md``.

Exposures are log10, of lux seconds or of a unit that only this paper's sheets share; densities are of the print. Between
readings the curve is a monotone cubic: F. N. Fritsch and R. E. Carlson, "Monotone piecewise cubic interpolation" (1980),
with the slopes of F. N. Fritsch and J. Butland, "A method for constructing local monotone piecewise cubic interpolants"
(1984).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

from timer.craft.paper import HIGHLIGHT, SHADOW, SPEED_POINT

LEAST, MOST = 5, 400
"""Exposures that make a curve; what a kept one may have."""
SAME = 0.003
"""log10 exposures nearer than this (0.7 %) are one exposure, read twice."""
FALL = 0.10
"""Density by which a reading may lie below one with less light: some three times what a scan may be off."""
FLATTEST = 0.5
"""Density from the lightest to the darkest reading from which there is a curve."""
BEYOND = 0.3
"""How far readings must go on beyond highlight and shadow, of the range between them, for the last one to be the paper's
white or black: then R is within 5 % on a logistic curve."""
TAIL = 0.6
"""Log exposure beyond the last reading by which white or black, read by itself, is taken as reached."""
STOP = math.log10(2)
End = Literal["light", "dark"]


class CurveShort(ValueError):
    """Readings that do not reach an end of the curve: about how many ``stops`` less or more light are missing there."""

    def __init__(self, stops: Mapping[End, int]) -> None:
        super().__init__(f"the readings do not reach the {' and the '.join(stops)} end of the curve")
        self.stops = dict(stops)


@dataclass(frozen=True)
class PaperCurve:
    """Log exposures, rising, and their densities, never falling; ``base``: paper white with its fog; ``darkest``: the
    greatest density. ValueError for numbers that are no curve."""

    log_exposure: tuple[float, ...]
    density: tuple[float, ...]
    base: float
    darkest: float

    def __post_init__(self) -> None:
        x, d = self.log_exposure, self.density
        if not 2 <= len(x) <= MOST or len(x) != len(d):
            raise ValueError(f"a curve has 2 to {MOST} exposures and as many densities; here are {len(x)} and {len(d)}")
        if not all(-10 < one < 10 for one in x) or not all(b - a >= SAME / 2 for a, b in pairwise(x)):
            raise ValueError("its log exposures must rise from one to the next")
        if not all(a <= b for a, b in pairwise(d)) or not 0 <= self.base <= d[0] or not d[-1] <= self.darkest <= 5:
            raise ValueError("its densities must not fall, and lie between its base and its greatest density")
        if d[-1] - d[0] < FLATTEST:
            raise ValueError(f"its densities differ by less than {FLATTEST:g}")

    @cached_property
    def _nodes(self) -> tuple[list[float], list[float], list[float]]:
        """Exposures, densities and slopes, with white and black where they were read by themselves."""
        x, d = list(self.log_exposure), list(self.density)
        if self.base < d[0]:
            x, d = [x[0] - TAIL, *x], [self.base, *d]
        if self.darkest > d[-1]:
            x, d = [*x, x[-1] + TAIL], [*d, self.darkest]
        return x, d, monotone_slopes(x, d)

    def _part(self, log_exposure: float) -> tuple[float, float, tuple[float, float], tuple[float, float]]:
        """Share of the way between two nodes, their distance, densities and slopes."""
        x, d, slopes = self._nodes
        n = max(0, min(len(x) - 2, sum(node <= log_exposure for node in x) - 1))
        wide = x[n + 1] - x[n]
        share = max(0.0, min(1.0, (log_exposure - x[n]) / wide))
        return share, wide, (d[n], d[n + 1]), (slopes[n], slopes[n + 1])

    def density_at(self, log_exposure: float) -> float:
        """The density that ``log_exposure`` makes; beyond the curve that of its end."""
        s, wide, (low, high), (m, n) = self._part(log_exposure)
        over = wide * s * (1 - s) * (m * (1 - s) - n * s)
        return low + (high - low) * s * s * (3 - 2 * s) + over

    def slope_at(self, log_exposure: float) -> float:
        """Density per log10 exposure there; 0 beyond the curve."""
        x = self._nodes[0]
        if not x[0] <= log_exposure <= x[-1]:
            return 0.0
        s, wide, (low, high), (m, n) = self._part(log_exposure)
        return 6 * (high - low) / wide * s * (1 - s) + m * (1 - s) * (1 - 3 * s) + n * s * (3 * s - 2)

    def exposure_for(self, density: float) -> float:
        """The least log exposure that makes ``density``; ValueError when it is not among what was read."""
        if not self.density[0] <= density <= self.density[-1]:
            raise ValueError(
                f"a density of {density:.2f} is off this paper's curve, read from {self.density[0]:.2f} to "
                f"{self.density[-1]:.2f}"
            )
        n = max(0, next(n for n, d in enumerate(self.density) if d >= density) - 1)
        low, high = self.log_exposure[n], self.log_exposure[n + 1]
        for _ in range(50):
            middle = (low + high) / 2
            low, high = (low, middle) if self.density_at(middle) >= density else (middle, high)
        return (low + high) / 2

    def moved(self, by: float) -> "PaperCurve":
        """The same curve where every exposure counts ``by`` more, in log10."""
        return PaperCurve(tuple(x + by for x in self.log_exposure), self.density, self.base, self.darkest)


def monotone_slopes(x: Sequence[float], d: Sequence[float]) -> list[float]:
    """Slopes at the nodes of a curve that never falls: weighted harmonic means, so that it does not overshoot."""
    wide = [b - a for a, b in pairwise(x)]
    rise = [(b - a) / w for (a, b), w in zip(pairwise(d), wide, strict=True)]
    if len(rise) == 1:
        return [rise[0], rise[0]]
    inner = []
    for (w0, w1), (r0, r1) in zip(pairwise(wide), pairwise(rise), strict=True):
        a, b = w0 + 2 * w1, 2 * w0 + w1
        inner.append((a + b) / (a / r0 + b / r1) if r0 > 0 and r1 > 0 else 0.0)
    return [_end_slope(wide[0], wide[1], rise[0], rise[1]), *inner, _end_slope(wide[-1], wide[-2], rise[-1], rise[-2])]


def _end_slope(wide: float, next_wide: float, rise: float, next_rise: float) -> float:
    """Of the parabola through three nodes, at its end; never below 0."""
    return max(0.0, ((2 * wide + next_wide) * rise - wide * next_rise) / (wide + next_wide))


def fit(points: Sequence[tuple[float, float]], *, base: float | None = None, darkest: float | None = None) -> PaperCurve:
    """The curve through (log10 exposure, density), in any order; where a reading lies a little below one with less light,
    both are their mean. ``base`` and ``darkest`` where they were read by themselves, else the first and the last density.

    CurveShort when an end is not reached, ValueError when the readings are too few, or are none of a curve.
    """
    rows = _merged(sorted(points))
    if len(rows) < LEAST:
        raise ValueError(f"a curve needs {LEAST} different exposures or more; here are {len(rows)}")
    greatest = rows[0][1]
    for _, density, _ in rows:
        if density < greatest - FALL:
            raise ValueError(
                f"more light gave less density, {density:.2f} after {greatest:.2f}: are the patches in their order?"
            )
        greatest = max(greatest, density)
    densities = _never_falling([density for _, density, _ in rows], [weight for _, _, weight in rows])
    if base is not None and base > densities[0] + FALL:
        raise ValueError(f"the base of {base:.2f} is darker than the lightest patch, {densities[0]:.2f}")
    if darkest is not None and darkest < densities[-1] - FALL:
        raise ValueError(f"the black of {darkest:.2f} is lighter than the darkest patch, {densities[-1]:.2f}")
    least = min(densities[0], base) if base is not None else densities[0]
    most = max(densities[-1], darkest) if darkest is not None else densities[-1]
    curve = PaperCurve(tuple(x for x, _, _ in rows), tuple(densities), max(0.0, least), most)
    short = _short_ends(curve, base is not None, darkest is not None)
    if short:
        raise CurveShort(short)
    return curve


def _merged(points: Sequence[tuple[float, float]]) -> list[tuple[float, float, int]]:
    """Exposure, density and how many readings; those of one exposure are their mean."""
    out: list[tuple[float, float, int]] = []
    for x, density in points:
        if out and x - out[-1][0] < SAME:
            before, mean, count = out[-1]
            out[-1] = (before, (mean * count + density) / (count + 1), count + 1)
        else:
            out.append((x, density, 1))
    return out


def _never_falling(densities: Sequence[float], weights: Sequence[int]) -> list[float]:
    """The nearest that do not fall, by least squares: neighbours that do are their mean (isotonic regression)."""
    blocks: list[tuple[float, int, int]] = []  # mean, weight, how many
    for density, weight in zip(densities, weights, strict=True):
        block = (density, weight, 1)
        while blocks and blocks[-1][0] > block[0]:
            mean, heavy, many = blocks.pop()
            both = heavy + block[1]
            block = ((mean * heavy + block[0] * block[1]) / both, both, many + block[2])
        blocks.append(block)
    return [mean for mean, _, many in blocks for _ in range(many)]


def _short_ends(curve: PaperCurve, base_read: bool, darkest_read: bool) -> dict[End, int]:
    """Which ends the readings do not reach, and about how many stops are missing there."""
    x, d = curve.log_exposure, curve.density
    highlight, shadow = curve.base + HIGHLIGHT, SHADOW * curve.darkest
    out: dict[End, int] = {}
    white, black = (d[0] <= highlight if base_read else True), (d[-1] >= shadow if darkest_read else True)
    low = curve.exposure_for(highlight) if d[0] <= highlight else x[0]
    high = curve.exposure_for(shadow) if shadow <= d[-1] else x[-1]  # its first density is lighter: it is 0.5 from the last
    beyond = BEYOND * max(high - low, STOP)
    light_misses = 0.0 if base_read else beyond - (low - x[0])
    dark_misses = 0.0 if darkest_read else beyond - (x[-1] - high)
    if light_misses > 0 or not white:
        out["light"] = 1 + max(1, math.ceil(light_misses / STOP))
    if dark_misses > 0 or not black:
        out["dark"] = 1 + max(1, math.ceil(dark_misses / STOP))
    return out


# ── ISO 6846 ─────────────────────────────────────────────────────────────────

SPEEDS = (1.0, 1.25, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0, 6.4, 8.0)
"""Thirds of a stop, as speeds are given: from memory, since the standard's own table of rounding is not to be had freely."""


@dataclass(frozen=True)
class IsoPoints:
    """The log exposures of highlight, speed point and shadow."""

    highlight: float
    speed: float
    shadow: float

    @property
    def r(self) -> float:
        """ISO range: 100 times the log exposures between highlight and shadow, unrounded."""
        return 100 * (self.shadow - self.highlight)

    @property
    def p(self) -> float:
        """ISO speed, 1000 over the exposure of the speed point, unrounded; of a P only when exposures are lux seconds."""
        return 1000 / 10**self.speed


def iso_points(curve: PaperCurve, *, net: bool = False) -> IsoPoints:
    """ISO 6846: 0.04 and 0.6 above base, and 90 % of the greatest density, or, ``net``, of that above base.

    The Focal Encyclopedia (p. 679) has 90 % of the greatest density; copies of the standard differ on it, by about 0.5 in R.
    ValueError when the curve has no such density.
    """
    shadow = curve.base + SHADOW * (curve.darkest - curve.base) if net else SHADOW * curve.darkest
    return IsoPoints(
        curve.exposure_for(curve.base + HIGHLIGHT), curve.exposure_for(curve.base + SPEED_POINT), curve.exposure_for(shadow)
    )


def errors(curve: PaperCurve, points: IsoPoints, error: float) -> tuple[float, float]:
    """One standard deviation of R and of log10 P, where one reading has ``error``: white and black were read too."""
    at = [max(0.05, curve.slope_at(x)) for x in (points.highlight, points.shadow, points.speed)]
    both = math.sqrt(2) * error
    return 100 * math.hypot(both / at[0], math.sqrt(1 + SHADOW**2) * error / at[1]), both / at[2]


def rounded_r(r: float) -> int:
    """R as ISO writes it, in tens."""
    return 10 * math.floor(r / 10 + 0.5)


def rounded_p(p: float) -> float:
    """P to the nearest third of a stop (100, 125, 160, ...), by ratio: how ISO 6846 rounds it is from memory, no text of
    it was at hand. ValueError when it is none."""
    if not 0 < p < math.inf:
        raise ValueError("a speed is more than 0")
    decade = math.floor(math.log10(p))
    series = [step * 10.0**ten for ten in (decade, decade + 1) for step in SPEEDS]
    return min(series, key=lambda step: abs(math.log(step / p)))
