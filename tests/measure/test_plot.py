"""The picture and the table of a solution: what stands where."""

import io
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from timer.craft.filters import Pack
from timer.craft.sensitometry import Paper, densities
from timer.craft.solve import Reading
from timer.measure.advise import Advice, advise, sentence
from timer.measure.plot import HIGH, WIDE, _together, plot, points
from timer.measure.sheet import Given
from timer.measure.table import table

AIM = (0.76, 0.74, 0.72)
SHEET = [(10.0, (0.0, 0.6, 0.5)), (10 / 2**0.5, (0.0, 0.6, 0.5)), (10 * 2**0.5, (0.0, 0.6, 0.5)), (10.0, (0.0, 0.8, 0.5)),
         (10.0, (0.0, 0.6, 0.7))]  # fmt: skip
NAMES = ("1", "2", "3", "4", "5")


def read() -> list[Reading]:
    """A sheet of the model's own paper, so that every reading lies on its curve."""
    x = np.asarray([[np.log10(s / 8) - u for u in (c, m - 0.6, y - 0.5)] for s, (c, m, y) in SHEET])
    return [
        Reading(s, u, (float(d[0]), float(d[1]), float(d[2])), 0.01, 12)
        for (s, u), d in zip(SHEET, densities(Paper(), x), strict=True)
    ]


@pytest.fixture
def advice() -> Advice:
    lights = [Given(n, s, Pack(*(100 * v for v in u))) for n, (s, u) in enumerate(SHEET, 1)]
    return advise(read(), lights, AIM)


def test_what_lies_where(advice: Advice) -> None:
    these = points(advice, read(), NAMES)
    # half a stop lighter and darker, in every colour; 20M takes 0.2 / log10(2) = 0.66 stop from green, and from it most
    assert these.x[1] - these.x[0] == pytest.approx([-0.5] * 3)
    assert these.x[2] - these.x[0] == pytest.approx([0.5] * 3)
    less = these.x[0] - these.x[3]
    assert less[1] == pytest.approx(0.2 / np.log10(2), abs=0.1) and max(less[0], less[2]) < 0.2
    assert np.argmax(these.x[0] - these.x[4]) == 2
    # the curve goes through what is expected, where the next sheet lies, and through the readings
    for band in range(3):
        assert np.interp(0, these.curve_x, these.curve[:, band]) == pytest.approx(these.next_density[band], abs=0.003)
        there = np.interp(these.x[:, band], these.curve_x, these.curve[:, band])
        assert there == pytest.approx(these.density[:, band], abs=0.03)
        assert all(a < b for a, b in pairwise(these.curve[:, band]))
    assert these.next_density == pytest.approx(AIM, abs=0.02)
    assert these.error == pytest.approx(np.full((5, 3), 0.02))
    assert these.sheets == (12,) * 5 and these.names == NAMES


def test_the_picture_has_a_panel_a_colour_and_is_no_larger_than_said(advice: Advice) -> None:
    from PIL import Image

    with Image.open(io.BytesIO(plot(advice, read(), NAMES))) as image:
        assert image.format == "PNG" and image.size == (WIDE, HIGH)
        pixels = np.asarray(image.convert("RGB")).astype(int)
    for band, third in enumerate(np.array_split(pixels[140:620], 3, axis=1)):  # each curve has its colour, besides its place
        strongest = third.argmax(axis=2)[third.max(axis=2) - third.min(axis=2) > 60]
        assert len(strongest) > 100 and (strongest == band).mean() > 0.95


def test_names_of_marks_that_lie_together_are_one_line() -> None:
    assert _together([(100, 100, "5"), (104, 98, "1"), (300, 100, "2")]) == [(100, 100, "1 5"), (300, 100, "2")]


def test_the_table(advice: Advice) -> None:
    head, first, *_, aim, then, error = table(advice, read(), NAMES)
    assert head.split()[:4] == ["sheet", "sample", "set", "to"]
    assert first.split()[:5] == ["12", "1", "60M", "50Y", "10.0"]
    assert aim.split() == ["aim", "0.76", "0.74", "0.72"]
    assert then.split()[0] == "next" and float(then.split()[-1]) == pytest.approx(0.72, abs=0.02)
    assert error.strip().startswith("each colour by itself, within")
    assert max(map(len, (head, first, aim, then, error))) <= 79


def test_nothing_is_expected_better_than_its_last_digit(advice: Advice) -> None:
    sure = replace(advice, density=0.0012, cast_cc=0.3, right=False, strip=False)
    assert "Expected within 0.01 in density, all three colours together, and 1 CC" in sentence(sure)
    assert "Expected within 0.05 in density, all three colours together, and 3 CC" in sentence(
        replace(sure, density=0.046, cast_cc=3.2)
    )
