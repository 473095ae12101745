"""Which of a sheet's readings is wrong, beside the one that was made so."""

import numpy as np
import pytest

from timer.craft.filters import Pack
from timer.craft.sensitometry import Paper, densities, layer_exposures
from timer.craft.solve import Reading
from timer.measure.advise import advise
from timer.measure.sheet import Given

FIRST = [(10.0, (0.0, 0.55, 0.50)), (7.07, (0.0, 0.55, 0.50)), (14.14, (0.0, 0.55, 0.50)), (10.0, (0.0, 0.75, 0.50)),
         (10.0, (0.0, 0.55, 0.70))]  # fmt: skip
"""Seconds and controls of a first sheet's five patches."""


@pytest.mark.parametrize("wrong", range(5))
@pytest.mark.parametrize("off", [0.3, -0.4])
def test_the_patch_that_is_wrong_is_the_one_without_which_the_rest_agree(wrong: int, off: float) -> None:
    """A patch with a filter of its own draws the head's matrix to it: others were left further off, and named."""
    head = 0.05 + 0.9 * np.eye(3)
    x = layer_exposures(
        np.asarray([-0.9, -0.3, -0.35]), head, np.log10([s for s, _ in FIRST]), np.asarray([u for _, u in FIRST])
    )
    read = densities(Paper(), x)
    read[wrong] += off
    readings = [Reading(s, u, (d[0], d[1], d[2]), 0.01, 1) for (s, u), d in zip(FIRST, read.tolist(), strict=True)]
    lights = [Given(n, s, Pack(*(100 * one for one in u))) for n, (s, u) in enumerate(FIRST, 1)]
    notes = advise(readings, lights, (0.76, 0.74, 0.72)).notes
    (said,) = [note for note in notes if note.startswith(f"reading {wrong + 1} is off the rest by ")]
    assert float(said.split(" by ")[1].split()[0]) == pytest.approx(abs(off), abs=0.2)  # its filter is known by it alone
