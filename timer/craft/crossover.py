"""Two greys of one print: what the second is off by when the first is matched. ``docs/method.md``.

Head and baths act on both alike, so they drop out of the difference, and only the paper's curve is needed. What is left in
colour is crossover: no filter can mend it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from timer.craft.sensitometry import Array, Paper, dye_slopes, exposures_for
from timer.craft.solve import Reading, weights

Pair = tuple[Reading, Reading]
"""One patch: the grey that is matched, and the second one."""


@dataclass(frozen=True, eq=False)
class Left:
    """``off`` (3): density of the second grey less its aim when the first is matched; ``covariance`` (3, 3) of it."""

    off: Array
    covariance: Array


def left_over(pairs: Sequence[Pair], aim: Sequence[float], second_aim: Sequence[float], paper: Paper) -> Left:
    """What is left of the second grey, from ``pairs`` read on the same patches; near their aims they count most.

    ValueError without pairs, and for an aim off the paper's range.
    """
    if not pairs:
        raise ValueError("there is no patch on which both greys were read")
    there, second = exposures_for(paper, aim), exposures_for(paper, second_aim)
    wants, information = np.zeros(3), np.zeros(3)
    for pair in pairs:
        way, variance = np.zeros(3), np.zeros(3)
        for reading, target, x, sign in zip(pair, (aim, second_aim), (there, second), (-1, 1), strict=True):
            here = exposures_for(paper, reading.density, nearest=True)
            slope = np.abs(dye_slopes(paper, here[None])[0])
            way += sign * (x - here)
            variance += 1 / (weights([reading], target)[0] * slope) ** 2
        wants += way / variance
        information += 1 / variance
    least = min(reading.error for pair in pairs for reading in pair)
    slope, slope_first = (dye_slopes(paper, x[None])[0] for x in (second, there))
    variance = slope**2 / information + least**2 * (1 + (slope / slope_first) ** 2)  # the aims were read too
    return Left(-slope * wants / information, np.diag(variance))
