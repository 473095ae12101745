"""What is left of a second grey: by the model itself, in which it is known, and by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.crossover import left_over
from timer.craft.sensitometry import Paper, densities, dye_slopes, exposures_for
from timer.craft.solve import Reading

AIM = (0.76, 0.74, 0.72)
DARK = (1.30, 1.28, 1.25)


def pair(shift: np.ndarray, apart: np.ndarray, paper: Paper, error: float = 0.005) -> tuple[Reading, Reading]:
    """A patch whose light is off the right one by ``shift``, and whose second grey has ``apart`` more light than it should."""
    first = densities(paper, (exposures_for(paper, AIM) + shift)[None])[0]
    second = densities(paper, (exposures_for(paper, DARK) + shift + apart)[None])[0]
    one, other = ((float(d[0]), float(d[1]), float(d[2])) for d in (first, second))
    return Reading(10, (0, 0.5, 0.5), one, error), Reading(10, (0, 0.5, 0.5), other, error)


@given(st.tuples(*[st.floats(-0.2, 0.2)] * 3), st.tuples(*[st.floats(-0.05, 0.05)] * 3), st.sampled_from([1, -1]))
def test_whatever_pack_and_time_were_the_difference_is_found(
    shift: tuple[float, float, float], apart: tuple[float, float, float], sign: int
) -> None:
    paper = Paper(slope=np.asarray([2.4, 2.6, 2.9]), sign=sign)
    left = left_over([pair(np.asarray(shift), np.asarray(apart), paper)], AIM, DARK, paper)
    slope = dye_slopes(paper, exposures_for(paper, DARK)[None])[0]
    assert left.off == pytest.approx(slope * np.asarray(apart), abs=1e-6)
    assert np.all(np.diag(left.covariance) > 0) and np.count_nonzero(left.covariance) == 3


def test_more_light_on_the_second_grey_is_darker_and_on_reversal_lighter() -> None:
    more = np.asarray([0.0, 0.03, 0.0])
    for sign in (1, -1):
        paper = Paper(sign=sign)
        left = left_over([pair(np.zeros(3), more, paper)], AIM, DARK, paper)
        assert np.sign(left.off[1]) == sign and abs(left.off[1]) > 0.03
        assert left.off[[0, 2]] == pytest.approx([0, 0], abs=1e-9)


def test_a_patch_near_its_aim_counts_most() -> None:
    paper = Paper()
    near = pair(np.zeros(3), np.full(3, 0.02), paper)
    far = pair(np.full(3, -0.3), np.full(3, -0.02), paper)
    off = left_over([near, far], AIM, DARK, paper).off
    alone = [left_over([each], AIM, DARK, paper) for each in (near, far)]
    assert np.all(off > 0.6 * alone[0].off) and np.all(alone[1].off < 0)
    assert np.all(np.diag(alone[1].covariance) > 4 * np.diag(alone[0].covariance))


def test_by_hand_on_the_straight_part() -> None:
    """Slope 2.5 in the middle of a reach of 2.2 (1.2 in density): both aims and readings there, all errors 0.01. Four readings'
    errors of equal weight: off has twice one of them."""
    paper, middle = Paper(), (1.2, 1.2, 1.2)
    x = np.full(3, 0.004)
    d = densities(paper, x[None])[0]
    read = Reading(10, (0, 0, 0), middle, 0.01), Reading(10, (0, 0, 0), (float(d[0]),) * 3, 0.01)
    left = left_over([read], middle, middle, paper)
    assert left.off == pytest.approx(np.full(3, 2.5 * 0.004), abs=2e-5)
    assert np.sqrt(np.diag(left.covariance)) == pytest.approx(np.full(3, 0.02), rel=0.02)


def test_more_pairs_are_surer_but_the_aims_remain() -> None:
    paper = Paper()
    one = pair(np.zeros(3), np.zeros(3), paper, 0.01)
    first, many = (np.sqrt(np.diag(left_over([one] * n, AIM, DARK, paper).covariance)) for n in (1, 400))
    slope = [dye_slopes(paper, exposures_for(paper, each)[None])[0] for each in (AIM, DARK)]
    aims = 0.01 * np.sqrt(1 + (slope[1] / slope[0]) ** 2)
    assert np.all(many < first) and many == pytest.approx(aims, rel=0.01)


def test_a_reading_off_the_papers_range_counts_next_to_nothing() -> None:
    paper = Paper()
    good = pair(np.zeros(3), np.full(3, 0.02), paper)
    far = Reading(10, (0, 0, 0), (0.02, 2.6, 0.74)), Reading(10, (0, 0, 0), (0.05, 2.9, 1.3))
    both, alone = (left_over(pairs, AIM, DARK, paper) for pairs in ([good, far], [good]))
    assert both.off[:2] == pytest.approx(alone.off[:2], abs=0.003)


def test_what_cannot_be_is_said() -> None:
    with pytest.raises(ValueError, match="both greys"):
        left_over([], AIM, DARK, Paper())
    with pytest.raises(ValueError, match="off this paper's range"):
        left_over([pair(np.zeros(3), np.zeros(3), Paper())], AIM, (2.6, 1, 1), Paper())
