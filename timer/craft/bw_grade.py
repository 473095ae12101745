"""What grade and time a negative needs, by papers' own curves; and dry-down from wet and dry readings.

A print fits when the paper's log exposures from the chosen highlight to the chosen shadow are as many as the negative's
densities between its two places (ISO 6846, as quoted in published copies of its introduction). ``docs/method.md``.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from timer.craft.bw_curve import STOP, IsoPoints, PaperCurve, iso_points

FLAT = 0.15
"""Density per log10 exposure below which a tone says nothing of exposure."""


def negative_range(curve: PaperCurve, light: float, dark: float) -> float:
    """Density of the negative between two places, from their densities on a print on paper of ``curve``, as they come
    through that enlarger. ValueError when a density is off the curve, or the second place is not the darker one."""
    if dark <= light:
        raise ValueError(f"the dark place ({dark:.2f}) must be darker than the light one ({light:.2f})")
    return curve.exposure_for(dark) - curve.exposure_for(light)


def range_between(curve: PaperCurve, highlight: float, shadow: float) -> float:
    """Log exposures from density ``highlight`` to ``shadow``. ValueError as ``negative_range``."""
    return negative_range(curve, highlight, shadow)


def needed_r(curve: PaperCurve, points: IsoPoints, density_range: float, highlight: float, shadow: float) -> float:
    """ISO R of the paper on which a negative of ``density_range`` makes ``highlight`` and ``shadow``, its curve being as
    ``curve`` but longer or shorter."""
    return points.r * density_range / range_between(curve, highlight, shadow)


def shadow_of(curve: PaperCurve, density_range: float, highlight: float) -> float:
    """Density of the dark place of a negative of ``density_range``, when its light place prints as ``highlight``."""
    return curve.density_at(curve.exposure_for(highlight) + density_range)


def log_time(old: PaperCurve, read: float, new: PaperCurve, wanted: float, *, new_over_old: float | None = None) -> float:
    """log10 of the new time over the old one, for a place that printed as ``read`` on ``old`` to print as ``wanted`` on
    ``new``. Of curves whose exposures are not of one unit, ``new_over_old`` is how much more light the speed point takes
    on ``new``. ValueError when a density is off its curve."""
    step = new.exposure_for(wanted) - old.exposure_for(read)
    if new_over_old is None:
        return step
    return step + iso_points(old).speed + math.log10(new_over_old) - iso_points(new).speed


@dataclass(frozen=True)
class DryDown:
    """Stops less that a print needs to dry to what it was wet: of each pair, of all, and its standard deviation."""

    each: tuple[float, ...]
    stops: float
    error: float

    @property
    def percent(self) -> float:
        """Per cent less time."""
        return 100 * (1 - 2**-self.stops)


def dry_down(curve: PaperCurve, pairs: Sequence[tuple[float, float]], error: float = 0.01) -> DryDown:
    """From (wet, dry) densities of the same places, through the dry paper's ``curve``. The steeper the curve at a pair, the
    more it counts, since ``error`` of a reading is less of a stop there. ValueError when a density is off the curve, or all
    lie where it is flat."""
    each, weights = [], []
    for wet, dry in pairs:
        at_wet, at_dry = curve.exposure_for(wet), curve.exposure_for(dry)
        each.append((at_dry - at_wet) / STOP)
        slope = curve.slope_at((at_wet + at_dry) / 2)
        weights.append(slope**2 if slope > FLAT else 0.0)
    if not sum(weights):
        raise ValueError("the curve is flat at these tones, so they tell nothing of exposure; read greys too")
    stops = sum(one * weight for one, weight in zip(each, weights, strict=True)) / sum(weights)
    return DryDown(tuple(each), stops, math.sqrt(2) * error / math.sqrt(sum(weights)) / STOP)
