"""Colour paper in numbers, by what a logistic is: half of its reach in the middle, and its slope there."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.sensitometry import Paper, densities, dye_amounts, dye_by_skew, dye_slopes, exposures_for, layer_exposures

PAPER = Paper(
    dmin=np.array([0.1, 0.12, 0.14]), reach=np.array([2.0, 2.2, 2.4]), slope=np.array([2.0, 2.5, 3.0]),
    dyes=np.array([[1.0, 0.1, 0.05], [0.08, 1.0, 0.15], [0.02, 0.07, 1.0]]),
)  # fmt: skip
REVERSAL = Paper(sign=-1)
SKEWED = Paper(skew=np.array([-0.5, 0.2, 0.9]))


def test_the_middle_of_the_curve() -> None:
    """x = 0 is half of the reach, where the density per log exposure is the slope; far off nothing, and all."""
    zero = np.zeros((1, 3))
    assert dye_amounts(PAPER, zero)[0] == pytest.approx([1.0, 1.1, 1.2])
    assert dye_slopes(PAPER, zero)[0] == pytest.approx([2.0, 2.5, 3.0])
    assert dye_slopes(REVERSAL, zero)[0] == pytest.approx([-2.5] * 3)
    assert dye_amounts(PAPER, zero - 1e6)[0] == pytest.approx([0, 0, 0], abs=1e-9)
    assert dye_amounts(PAPER, zero + 1e6)[0] == pytest.approx([2.0, 2.2, 2.4])
    assert dye_amounts(REVERSAL, zero + 1e6)[0] == pytest.approx([0, 0, 0], abs=1e-9)


@given(st.floats(-1, 1))
def test_a_logistic_by_hand(x: float) -> None:
    red = dye_amounts(PAPER, np.full((1, 3), x))[0][0]
    assert red == pytest.approx(2.0 / (1 + math.exp(-4 * 2.0 * x / 2.0)))
    step = 1e-5
    around = [dye_amounts(PAPER, np.full((1, 3), at))[0] for at in (x - step, x + step)]
    assert dye_slopes(PAPER, np.full((1, 3), x))[0] == pytest.approx((around[1] - around[0]) / (2 * step), abs=1e-6)


def test_a_skewed_curve_by_hand() -> None:
    """x = 0.165 is z = 4 x 2.5 x 0.165 / 2.2 = 0.75, whose root of 1 + z squared is 1.25: y = 0.75 + 0.25 skew."""
    for x, y in ((0.165, [0.625, 0.8, 0.975]), (-0.165, [-0.875, -0.7, -0.525])):
        there = dye_amounts(SKEWED, np.full((1, 3), x))[0]
        assert there == pytest.approx([2.2 / (1 + math.exp(-each)) for each in y])
    assert dye_amounts(SKEWED, np.zeros((1, 3)))[0] == pytest.approx([1.1] * 3)
    assert dye_slopes(SKEWED, np.zeros((1, 3)))[0] == pytest.approx([2.5] * 3)


@given(st.floats(-1, 1), st.lists(st.floats(-0.95, 0.95), min_size=3, max_size=3), st.sampled_from([1, -1]))
def test_a_skewed_curve_rises_and_its_derivatives_are_the_differences(x: float, skew: list[float], sign: int) -> None:
    def at(x: float, by: float = 0.0) -> np.ndarray:
        return np.asarray(dye_amounts(Paper(skew=np.array(skew) + by, sign=sign), np.full((1, 3), x))[0])

    paper, step = Paper(skew=np.array(skew), sign=sign), 1e-5
    slopes = dye_slopes(paper, np.full((1, 3), x))[0]
    assert np.all(slopes * sign > 0)
    assert slopes == pytest.approx((at(x + step) - at(x - step)) / (2 * step), abs=1e-6)
    by_skew = dye_by_skew(paper, np.full((1, 3), x))[0]
    assert by_skew == pytest.approx((at(x, step) - at(x, -step)) / (2 * step), abs=1e-6)


def test_dyes_absorb_in_their_neighbours_layers() -> None:
    """At half reach: red density = 0.1 + 1.0 x 1 + 1.1 x 0.08 + 1.2 x 0.02."""
    red, green, blue = densities(PAPER, np.zeros((1, 3)))[0]
    assert red == pytest.approx(0.1 + 1.0 + 1.1 * 0.08 + 1.2 * 0.02)
    assert green == pytest.approx(0.12 + 1.0 * 0.1 + 1.1 + 1.2 * 0.07)
    assert blue == pytest.approx(0.14 + 1.0 * 0.05 + 1.1 * 0.15 + 1.2)


def test_time_adds_to_all_layers_and_a_control_takes_from_its_own() -> None:
    """20 CC of the second control take 0.2 of green and a tenth of that of blue; ten times the time adds 1."""
    head = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.1, 1.0]])
    x = layer_exposures(np.array([0.1, 0.2, 0.3]), head, np.array([1.0]), np.array([[0.0, 0.2, 0.0]]))
    assert x[0] == pytest.approx([1.1, 1.0, 1.28])


@given(st.lists(st.floats(-0.7, 0.7), min_size=3, max_size=3), st.sampled_from([PAPER, REVERSAL]))
def test_exposures_of_densities(x: list[float], paper: Paper) -> None:
    assert exposures_for(paper, densities(paper, np.array([x]))[0]) == pytest.approx(x, abs=1e-9)


@given(st.lists(st.floats(-0.3, 0.3), min_size=3, max_size=3))
def test_exposures_of_densities_of_a_skewed_curve(x: list[float]) -> None:
    assert exposures_for(SKEWED, densities(SKEWED, np.array([x]))[0]) == pytest.approx(x, abs=1e-9)


def test_what_is_off_the_paper_is_said_with_its_range() -> None:
    plain = Paper()
    with pytest.raises(ValueError, match=r"a green density of 2\.40 is off this paper's range, 0\.12 to 2\.28"):
        exposures_for(plain, (1.2, 2.4, 1.2))
    with pytest.raises(ValueError, match=r"a red density of 0\.05"):
        exposures_for(plain, (0.05, 1.2, 1.2))
    # a hundredth of the reach from each end is still on it
    assert exposures_for(plain, (0.1 + 0.0101 * 2.2, 1.2, 0.1 + 0.9899 * 2.2))[1] == pytest.approx(0)
    for share in (0.0099, 0.9901):
        with pytest.raises(ValueError, match="blue"):
            exposures_for(plain, (1.2, 1.2, 0.1 + share * 2.2))
    # nearest: two hundredths from the end
    far = exposures_for(plain, (-1.0, 1.2, 9.0), nearest=True)
    assert far == pytest.approx([-far[2], 0, 2.2 / 10 * math.log(0.98 / 0.02)])
