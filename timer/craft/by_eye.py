"""How far an eye may be followed: part of the way, and no further than it tells. ``docs/method.md``."""

from collections.abc import Sequence

import numpy as np

from timer.craft.solve import Estimate

STEP = 0.7
"""Of the way to the aim, how much is gone on looks alone: an eye that is far off sends as far too far. Chosen by
``tests/benchmarks/sheets_to_print.py``, seeds 2 to 6, as is the next."""
TELLS = 1.5
"""Standard deviations of a print's density, and of its cast, within which looks tell no more of it."""


def right_by_eye(known: Estimate, setting: tuple[float, tuple[float, float, float]], aim: Sequence[float]) -> bool:
    """Whether a print made with ``setting`` (seconds, controls) is as near to ``aim`` as looks can tell."""
    off = known.predict(*setting) - np.asarray(aim)
    spread = known.spread(*setting)
    grey, flat = np.full(3, 1 / 3), np.eye(3) - 1 / 3
    density = abs(grey @ off) <= TELLS * np.sqrt(grey @ spread @ grey)
    cast = np.abs(flat @ off) <= TELLS * np.sqrt(np.diag(flat @ spread @ flat.T))
    return bool(density and cast.all())
