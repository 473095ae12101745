"""Paper on the bench: characteristic curves, and what light becomes on them.

Graded: a logistic curve over log exposure that has exactly the ISO range R and speed P it is made from, by the
definitions of ISO 6846 (highlight 0.04 above base, shadow 90 % of the greatest density, speed at 0.6 above base).
Variable contrast: grains alike in blue light and unlike in green, D = sum_e f(log sum_k s_ke t_k T) over grains e and
filters k. Blue light finds all of them at once, a steep curve; green light one after another, a long one; and whatever
comes through two filters adds up in every grain as exposure does, in any order. Each filter's share of blue and green is
set so that its own curve has the R and P asked for. The idea is the trade's (from memory); the number and spacing of the
grains are ours, chosen so that no range from R40 to R180 has a step in it.
Colour: three layers whose dyes also absorb a little of the other colours, so balanced that layers equally exposed print
grey at every density. Speeds, dyes and the R of contrast filters are editable defaults: red slowest, green two and blue
four stops faster (a printer's report, weak). Nothing else that paper and light do is here: no flare, no halation, no
reciprocity or intermittency, no change in developing.
"""

import math
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from timer.craft.paper import HIGHLIGHT, SHADOW, SPEED_POINT, grade_factor

Array = npt.NDArray[np.floating[Any]]

RANGE_OF_GRADE = {
    "00": 180, "0": 160, "1/2": 145, "1": 130, "1 1/2": 120, "2": 110, "2 1/2": 100, "3": 90, "3 1/2": 75, "4": 60,
    "4 1/2": 50, "5": 40,
}  # fmt: skip
"""ISO R of a variable-contrast paper by filter: from memory and second-hand; yours is in your paper's leaflet."""


@dataclass(frozen=True)
class Curve:
    """Density over log10 exposure (lux seconds): base + span / (1 + exp(-slope (x - middle)))."""

    base: float
    span: float
    slope: float
    middle: float

    def density(self, log_exposure: Any) -> Any:
        """Of a number or an array of log10 exposures."""
        return self.base + self.span / (1 + np.exp(-self.slope * (np.asarray(log_exposure) - self.middle)))

    def log_exposure(self, density: float) -> float:
        """Where the curve has ``density``; ValueError outside of it."""
        share = (density - self.base) / self.span
        if not 0 < share < 1:
            raise ValueError(f"this paper has no density of {density:g}")
        return self.middle + _logit(share) / self.slope


def curve_for(r: float, p: float, *, base: float = 0.06, darkest: float = 2.10, net: bool = False) -> Curve:
    """The curve with ISO range ``r`` and speed ``p``.

    The shadow point is 90 % of the greatest density, gross as the Focal Encyclopedia has it, or ``net`` of the base.
    """
    span = darkest - base
    shadow = SHADOW if net else (SHADOW * darkest - base) / span
    slope = (_logit(shadow) - _logit(HIGHLIGHT / span)) / (r / 100)
    middle = math.log10(1000 / p) - _logit(SPEED_POINT / span) / slope
    return Curve(base, span, slope, middle)


def measured(curve: Curve, *, net: bool = False) -> tuple[float, float]:
    """ISO R and P of a curve, unrounded."""
    darkest = curve.base + curve.span
    shadow = curve.base + SHADOW * curve.span if net else SHADOW * darkest
    low, high = curve.log_exposure(curve.base + HIGHLIGHT), curve.log_exposure(shadow)
    return 100 * (high - low), 1000 / 10 ** curve.log_exposure(curve.base + SPEED_POINT)


def _logit(share: float) -> float:
    return math.log(share / (1 - share))


# ── variable contrast ────────────────────────────────────────────────────────

_LESS_GREEN = np.linspace(0.0, 2.2, 31)
GRAINS = 10.0**-_LESS_GREEN
"""Sensitivity of each grain to green light; to blue they are alike."""
SHARES = 1 / np.cosh((_LESS_GREEN - 1.1) / 1.2) ** 2
SHARES = SHARES / SHARES.sum()
"""What part of the density each is: most of them about the middle, for a toe and a shoulder as paper has."""
STEEP_R = 36.0
"""ISO range in blue light alone: a little under the hardest filter's."""
SPEED_OF_FILTERS = 200.0
"""P through the filters 00 to 3 1/2: from memory; those from 4 on are slower by the factor of ``craft.paper``."""
UNFILTERED_R, UNFILTERED_P = 105.0, 400.0
"""With no filter in: a stop faster (NAVEDTRA 14209), its range from memory."""
_ONE_GRAIN = curve_for(STEEP_R, 100)


def vc_density(blue: Any, green: Any) -> Any:
    """Density of variable-contrast paper from exposures to its two lights: numbers or arrays, in its own lux seconds."""
    blue, green = np.asarray(blue, dtype=float), np.asarray(green, dtype=float)
    total = np.zeros(np.broadcast(blue, green).shape)
    for grain, share in zip(GRAINS, SHARES, strict=True):
        total = total + share * _ONE_GRAIN.density(np.log10(np.maximum(blue + grain * green, 1e-12)))
    return total


def filter_speed(grade: str) -> float:
    """P of this paper through a contrast filter (empty: none in)."""
    return SPEED_OF_FILTERS / grade_factor("2", grade) if grade else UNFILTERED_P


@cache
def filter_light(grade: str) -> tuple[float, float]:
    """Blue and green light through a contrast filter (empty: none in), so that the paper has that filter's R and P."""
    r = RANGE_OF_GRADE[grade] if grade else UNFILTERED_R
    p = filter_speed(grade)
    low, high = -3.0, 6.0  # log10 of green over blue: the more of it, the softer
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if _range_and_speed_point(middle)[0] < r else (low, middle)
    blue, green = _shares(low)
    scale = 10 ** _range_and_speed_point(low)[1] * p / 1000
    return blue * scale, green * scale


def _shares(log_ratio: float) -> tuple[float, float]:
    return 1 / (1 + 10**log_ratio), 1 / (1 + 10**-log_ratio)


def _range_and_speed_point(log_ratio: float) -> tuple[float, float]:
    """ISO R, and the log exposure of the speed point, in light with so much more green than blue; from a sampled curve."""
    blue, green = _shares(log_ratio)
    logs = np.linspace(-4.0, 6.0, 2501)
    base, darkest = _ONE_GRAIN.base, _ONE_GRAIN.base + _ONE_GRAIN.span
    density = vc_density(blue * 10**logs, green * 10**logs)
    light, dark, speed = np.interp([base + HIGHLIGHT, SHADOW * darkest, base + SPEED_POINT], density, logs)
    return float(100 * (dark - light)), float(speed)


# ── colour ───────────────────────────────────────────────────────────────────


@dataclass(frozen=True)
class ColourPaper:
    """Three layers, red-, green- and blue-sensitive, and how their cyan, magenta and yellow dyes absorb R, G and B."""

    layers: tuple[Curve, Curve, Curve]
    dyes: tuple[tuple[float, float, float], ...]
    base: float = 0.08

    @cached_property
    def balance(self) -> Array:
        """How much of each dye makes a grey of density 1: what the layers are coated with, in proportion."""
        return np.linalg.solve(np.array(self.dyes).T, np.ones(3))

    def densities(self, log_exposures: Array) -> Array:
        """R, G, B densities from log exposures of the three layers; last axis 3."""
        amounts = np.stack([c.density(log_exposures[..., n]) - c.base for n, c in enumerate(self.layers)], axis=-1)
        return np.asarray((amounts * self.balance) @ np.array(self.dyes) + self.base)


_LAYER_SPEEDS = (1.0, 4.0, 16.0)
COLOUR = ColourPaper(
    layers=tuple(curve_for(100, 100 * s, base=0.0, darkest=2.2) for s in _LAYER_SPEEDS),  # type: ignore[arg-type]
    dyes=((1.0, 0.10, 0.04), (0.08, 1.0, 0.14), (0.02, 0.08, 1.0)),
)


def srgb(density: Array) -> npt.NDArray[np.uint8]:
    """What a print of ``density`` looks like on a screen: reflectance through the sRGB curve (IEC 61966-2-1)."""
    light = np.clip(10.0 ** -(density - 0.05), 0.0, 1.0)
    encoded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.asarray(np.round(encoded * 255), dtype=np.uint8)
