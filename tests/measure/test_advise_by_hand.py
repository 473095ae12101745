"""Which of a sheet's readings is wrong, beside the one that was made so."""

import numpy as np
import pytest

from timer.craft.filters import Pack
from timer.craft.sensitometry import Paper, densities, layer_exposures
from timer.craft.solve import Reading
from timer.measure.advise import advice_json, advise
from timer.measure.sheet import Given
from timer.measure.table import table

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


def test_a_wrong_patch_is_not_counted_in_what_is_to_be_done() -> None:
    """The setting is that of the other four; the table says which, and by how much."""
    x = layer_exposures(
        np.asarray([-0.9, -0.3, -0.35]),
        0.05 + 0.9 * np.eye(3),
        np.log10([s for s, _ in FIRST]),
        np.asarray([u for _, u in FIRST]),
    )
    read = densities(Paper(), x)
    read[3] -= 0.3
    readings = [Reading(s, u, (d[0], d[1], d[2]), 0.01, 1) for (s, u), d in zip(FIRST, read.tolist(), strict=True)]
    lights = [Given(n, s, Pack(*(100 * one for one in u))) for n, (s, u) in enumerate(FIRST, 1)]
    found = advise(readings, lights, (0.76, 0.74, 0.72))
    rest = advise([*readings[:3], readings[4]], lights, (0.76, 0.74, 0.72))
    assert (found.setting, found.then.seconds) == (rest.setting, rest.then.seconds)
    assert found.left_out == 3 and rest.left_out is None and advice_json(found)["left_out"] == 4
    assert found.residuals[3] == pytest.approx([-0.3] * 3, abs=0.1)  # its filter is known by it alone
    assert "reading 4 is off the rest by" in found.notes[0] and "is not counted" in found.notes[0]
    lines = table(found, readings, "12345")
    assert [line.endswith("not counted") for line in lines[1:6]] == [False, False, False, True, False]
