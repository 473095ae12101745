"""Colour paper in numbers: the light that each layer gets, and the density that comes of it. ``docs/method.md``.

Order of the last axis: red, green, blue for layers and densities; cyan, magenta, yellow for controls. Exposures and
controls are log10: a control of 0.20 is 20 CC, or a light of 10^-0.20. Sources: the characteristic curve and its slope,
any text of sensitometry; the logistic as its form is our own choice (``timer/bench/paper.py`` has the same).
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from timer.craft.layers import LAYERS

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Paper:
    """What a paper does with light, a number a layer.

    ``dmin``: density of its white. ``reach``: the most density above it. ``slope``: density per log10 exposure in the
    middle. ``dyes`` (3, 3): density that a unit of each layer's dye (row) has in red, green, blue (column); only wedges
    can teach it. ``skew``: between -1 and 1, how much steeper the shoulder is than the toe; 0 is a logistic. ``sign``: -1
    for reversal material, whose density falls with light.
    """

    dmin: Array = field(default_factory=lambda: np.full(3, 0.10))
    reach: Array = field(default_factory=lambda: np.full(3, 2.2))
    slope: Array = field(default_factory=lambda: np.full(3, 2.5))
    dyes: Array = field(default_factory=lambda: np.eye(3))
    skew: Array = field(default_factory=lambda: np.zeros(3))
    sign: int = 1


def layer_exposures(a: Array, head: Array, log_time: Array, controls: Array) -> Array:
    """x_j = a_j + log10 t - sum_k G_jk u_k, for settings ``log_time`` (n) and ``controls`` (n, 3): (n, 3).

    ``a`` (3): what the negative lets through in each layer. ``head`` (3, 3): G, what a unit of each control (column) takes
    from each layer (row).
    """
    return np.asarray(a + log_time[:, None] - controls @ head.T)


def dye_amounts(paper: Paper, x: Array) -> Array:
    """q(x), net density of each layer's own dye: r / (1 + exp(-y)), y = z + skew (sqrt(1 + z^2) - 1), z = 4 s x / r.

    It has ``slope`` s where half of ``reach`` r is reached, x = 0; far below y is (1 - skew) z, far above (1 + skew) z.
    """
    z = _steps(paper, x)
    return np.asarray(paper.reach / (1 + np.exp(-np.clip(z + paper.skew * _bend(z), -60, 60))))


def dye_slopes(paper: Paper, x: Array) -> Array:
    """dq/dx."""
    z = _steps(paper, x)
    return paper.sign * 4 * paper.slope / paper.reach * _by_y(paper, x) * (1 + paper.skew * z / np.sqrt(1 + z**2))


def dye_by_skew(paper: Paper, x: Array) -> Array:
    """dq/dskew."""
    return _by_y(paper, x) * _bend(_steps(paper, x))


def _steps(paper: Paper, x: Array) -> Array:
    return np.asarray(paper.sign * 4 * paper.slope * x / paper.reach)


def _bend(z: Array) -> Array:
    return np.asarray(np.sqrt(1 + z**2) - 1)


def _by_y(paper: Paper, x: Array) -> Array:
    share = dye_amounts(paper, x) / paper.reach
    return np.asarray(paper.reach * share * (1 - share))


def densities(paper: Paper, x: Array) -> Array:
    """D = Dmin + A' q(x), of exposures (n, 3)."""
    return np.asarray(paper.dmin + dye_amounts(paper, x) @ paper.dyes)


def exposures_for(paper: Paper, density: Sequence[float] | Array, *, nearest: bool = False) -> Array:
    """The layer exposures (3) that make ``density`` (3), the inverse of ``densities``.

    ValueError when the paper has no such density; ``nearest``: what is out of its range is taken as just within it.
    """
    share = np.linalg.solve(paper.dyes.T, np.asarray(density, dtype=float) - paper.dmin) / paper.reach
    if nearest:
        share = np.clip(share, 0.02, 0.98)
    for name, part, low, reach in zip(LAYERS, share, paper.dmin, paper.reach, strict=True):
        if not 0.01 <= part <= 0.99:
            raise ValueError(
                f"a {name} density of {low + part * reach:.2f} is off this paper's range, "
                f"{low + 0.01 * reach:.2f} to {low + 0.99 * reach:.2f}"
            )
    w = np.log(share / (1 - share)) + paper.skew
    z = (w - paper.skew * np.sqrt(w**2 + 1 - paper.skew**2)) / (1 - paper.skew**2)
    return np.asarray(paper.sign * paper.reach / (4 * paper.slope) * z)
