"""Paper on the bench: characteristic curves, and what light becomes on them.

Black-and-white: a logistic curve over log exposure that has exactly the ISO range R and speed P it is made from, by the
definitions of ISO 6846 (highlight 0.04 above base, shadow 90 % of the greatest density, speed at 0.6 above base).
Colour: three such layers whose dyes also absorb a little of the other colours. Speeds, dyes and the R of contrast
filters are editable defaults: red slowest, green two and blue four stops faster (a printer's report, weak).
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.floating[Any]]

RANGE_OF_GRADE = {
    "00": 180, "0": 160, "1/2": 145, "1": 130, "1 1/2": 120, "2": 110, "2 1/2": 100, "3": 90, "3 1/2": 75, "4": 60,
    "4 1/2": 50, "5": 40,
}  # fmt: skip
"""ISO R of a variable-contrast paper by filter: from memory and second-hand; yours is in your paper's leaflet."""
HIGHLIGHT, SHADOW, SPEED_POINT = 0.04, 0.90, 0.60


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


@dataclass(frozen=True)
class ColourPaper:
    """Three layers, red-, green- and blue-sensitive, and how their cyan, magenta and yellow dyes absorb R, G and B."""

    layers: tuple[Curve, Curve, Curve]
    dyes: tuple[tuple[float, float, float], ...]

    def densities(self, log_exposures: Array) -> Array:
        """R, G, B densities from log exposures of the three layers; last axis 3."""
        amounts = np.stack([c.density(log_exposures[..., n]) - c.base for n, c in enumerate(self.layers)], axis=-1)
        return np.asarray(amounts @ np.array(self.dyes) + 0.08)


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
