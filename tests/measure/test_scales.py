"""Marks on scales, by hand: where a density lies between the ends, and what wins where two fall together."""

from dataclasses import replace

import numpy as np

from timer.craft.filters import Pack
from timer.craft.solve import Reading
from timer.measure.advise import Advice, advise
from timer.measure.scales import scales
from timer.measure.sheet import Given

PACK = (0.0, 0.6, 0.5)


def advice(readings: list[Reading], density: tuple[float, float, float], error: float) -> Advice:
    """With the next sheet as it is said here."""
    found = advise(readings, [Given(1, 10.0, Pack(m=60, y=50))], (0.8, 0.7, 0.6))
    return replace(found, then=replace(found.then, density=np.asarray(density), error=np.full(3, error)))


def test_marks_lie_where_their_densities_do() -> None:
    """31 places from 0.4 to 1.0 are a fiftieth of density each: 0.8 is the 20th after the first.

    In green a reading of each sheet lies at 0.5; in blue one at the lower bracket, and one of the first sheet at the aim."""
    readings = [Reading(10, PACK, (0.4, 0.5, 0.6), sheet=1), Reading(10, PACK, (1.0, 0.9, 0.9), sheet=2),
                Reading(14, PACK, (1.0, 0.5, 0.5), sheet=2)]  # fmt: skip
    found = scales(advice(readings, (0.8, 0.7, 0.6), 0.05), readings, ["1", "1", "2"], 45)
    assert found == [
        "red   0.4 o--------------(----A----)----* 1.0",
        "green 0.4 -----*----(----A----)----1----- 1.0",
        "blue  0.4 -----2----A----)---------1----- 1.0",
    ]


def test_it_is_as_wide_as_asked_and_ends_are_the_same() -> None:
    readings = [Reading(10, PACK, (0.31, 1.49, 0.7))]
    for width in (36, 80):
        found = scales(advice(readings, (0.8, 0.7, 0.6), 0.01), readings, ["grey"], width)
        assert [len(line) for line in found] == [width] * 3
        assert {line[6:9] for line in found} == {"0.3"} and {line[-3:] for line in found} == {"1.5"}
        assert all("o" in line and "A" in line for line in found)  # a print's reading has no number
