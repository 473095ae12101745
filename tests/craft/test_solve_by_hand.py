"""What is said of a next sheet, worked out by hand: how far it may be off, and whether head and paper have it at all."""

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from timer.craft.sensitometry import Paper, densities, dye_slopes
from timer.craft.solve import (
    Estimate,
    Next,
    Prior,
    Reading,
    _setting_for,
    _within,
    estimate,
    next_setting,
    problem_of,
    weights,
    whitening,
)

AIM = (0.76, 0.74, 0.72)
NONE = np.zeros((18, 18))


def known(read: np.ndarray, paper: Paper | None = None, covariance: np.ndarray = NONE, process: float = 0.01) -> Estimate:
    """With 1 s and no filter every layer is at half of its reach: 1.2, where the slope is the paper's."""
    return Estimate(np.zeros(3), np.eye(3), paper or Paper(), covariance, np.zeros((1, 3)), process, 1, read)


def test_a_reading_at_the_place_itself_leaves_the_baths_and_a_little_of_the_form() -> None:
    spread = known(np.full((1, 3), 1.2)).spread(1.0, (0, 0, 0))
    form = 0.013**2
    assert spread == pytest.approx(np.eye(3) * (0.01 * 2.5) ** 2 + form * (np.eye(3) + 1) / 2)


def test_the_form_of_the_curve_counts_from_the_nearest_reading() -> None:
    read = np.asarray([[1.0, 1.2, 1.5], [0.5, 1.1, 1.4]])  # 0.2, 0 and 0.2 away, whichever patch it is
    spread = known(read, process=0.0).spread(1.0, (0, 0, 0))
    far = np.asarray([0.35 * 0.2 + 0.013, 0.013, 0.35 * 0.2 + 0.013])
    assert np.sqrt(np.diag(spread)) == pytest.approx(far)
    assert spread[0, 1] == pytest.approx(far[0] * far[1] / 2)
    assert known(np.zeros((0, 3)), process=0.0).spread(1.0, (0, 0, 0)) == pytest.approx(np.zeros((3, 3)))
    nothing_read = Estimate(np.zeros(3), np.eye(3), Paper(), NONE, np.zeros((1, 3)), 0.0, 1)
    assert nothing_read.spread(1.0, (0, 0, 0)) == pytest.approx(np.zeros((3, 3)))


def test_dyes_that_absorb_beside_their_own_band_share_what_the_baths_did() -> None:
    dyes = np.asarray([[1.0, 0.2, 0.1], [0.0, 1.0, 0.3], [0.0, 0.0, 1.0]])
    paper = Paper(slope=np.asarray([2.0, 2.5, 3.0]), dyes=dyes)
    a_alone = np.zeros((18, 18))
    a_alone[:3, :3] = np.eye(3) * 0.02**2
    of_layer = np.asarray([[2.0, 0, 0], [0.4, 2.5, 0], [0.2, 0.75, 3.0]])  # band by layer: the dye's share of each slope
    assert dye_slopes(paper, np.zeros((1, 3)))[0] == pytest.approx([2.0, 2.5, 3.0])
    for process, covariance, size in ((0.01, NONE, 0.01), (0.0, a_alone, 0.02)):
        spread = known(np.zeros((0, 3)), paper, covariance, process).spread(1.0, (0, 0, 0))
        assert spread == pytest.approx(size**2 * of_layer @ of_layer.T)


def solved() -> Estimate:
    readings = [Reading(10, (0, 0.55, 0.5), (0.9, 0.7, 0.65)), Reading(14, (0, 0.55, 0.5), (1.2, 1.0, 0.95))]
    return estimate(readings, aim=AIM)


def test_what_is_said_of_the_next_sheet_is_said_of_its_setting() -> None:
    for times in ((5.0, 45.0), (40.0, 45.0), (0.5, 1.2)):
        then = next_setting(solved(), (10, (0, 0.55, 0.5)), AIM, times=times)
        light = then.seconds * 2.0**then.stops
        assert then.density == pytest.approx(AIM, abs=1e-6)
        assert then.covariance == pytest.approx(solved().spread(light, then.controls))
        assert then.error == pytest.approx(np.sqrt(np.diag(then.covariance)))
        assert (then.whole, then.met) == (True, True)
        assert times[0] / 2 < then.seconds < times[1] * 2


def test_a_head_that_ends_too_soon_is_said_to_miss() -> None:
    then = next_setting(solved(), (10, (0, 0.55, 0.5)), AIM, top=0.3)
    assert then.met is False
    assert max(then.controls) == pytest.approx(0.3)


def test_how_much_a_density_counts() -> None:
    """In full from 0.3 to 1.5; half a tenth below or 0.3 above, a fifth twice as far; and less off the aim, by a tenth of it."""
    counts = weights([Reading(10, (0, 0, 0), (0.2, 0.9, 1.8)), Reading(10, (0, 0, 0), (0.1, 1.5, 2.1))])
    assert counts == pytest.approx(np.asarray([[50, 100, 50], [20, 100, 20]]))
    off_aim = weights([Reading(10, (0, 0, 0), (0.9, 0.7, 1.0))], (0.7, 0.7, 0.7))
    assert off_aim[0] == pytest.approx([1 / np.hypot(0.01, 0.02), 100, 1 / np.hypot(0.01, 0.03)])


def test_what_the_curve_is_wrong_by_goes_together_for_densities_that_are_alike() -> None:
    """Patches 0.3 and 0.5 off the aim: 0.03 and 0.05 by the form, together by exp(-0.2 / 0.6); beside it 0.01 of each alone.
    So the matrix whitens that covariance, and of one reading it is one over its error."""
    readings = [Reading(10, (0, 0, 0), (1.0, 0.7, 0.4)), Reading(12, (0, 0, 0), (1.2, 0.7, 1.2))]
    aim = (0.7, 0.7, 0.7)
    together = np.exp(-0.2 / 0.6) * 0.03 * 0.05
    covariance = np.asarray([[0.01**2 + 0.03**2, together], [together, 0.01**2 + 0.05**2]])
    across = np.exp(-0.8 / 0.6) * 0.03 * 0.05  # one lighter, one darker than the aim: less alike
    white = whitening(readings, aim)
    red, green, blue = (white[n::3, n::3] for n in range(3))
    assert red @ covariance @ red.T == pytest.approx(np.eye(2))
    assert green == pytest.approx(100 * np.eye(2))  # at the aim there is nothing to be wrong by
    assert blue @ (covariance + (across - together) * (1 - np.eye(2))) @ blue.T == pytest.approx(np.eye(2))
    assert white[0::3, 1::3] == pytest.approx(np.zeros((2, 2)))
    assert np.diag(whitening(readings[:1], aim)) == pytest.approx(weights(readings[:1], aim)[0])


def test_what_a_look_is_off_by_in_all_colours_together() -> None:
    """0.08 in density, 0.05 in each colour: a difference of two colours is known to 0.05 times the root of two."""
    look = [Reading(10, (0, 0, 0), (0.7, 0.7, 0.7), 0.05, shared=0.08)]
    covariance = 0.05**2 * np.eye(3) + 0.08**2
    white = whitening(look, (0.7, 0.7, 0.7))
    assert white @ covariance @ white.T == pytest.approx(np.eye(3))
    assert weights(look)[0] == pytest.approx([1 / np.hypot(0.05, 0.08)] * 3)


def test_what_is_believed_before_by_hand() -> None:
    """Half of the reach, 1.2, is x = 0 in every layer; 1.7 is 0.2165 more, by the logistic's inverse, and counts for less."""
    two = [Reading(10, (0, 0.5, 0.4), (1.2,) * 3, 0.01, 7), Reading(10, (0, 0.5, 0.4), (1.2, 1.2, 1.7), 0.01, 9)]
    more = 2.2 / (4 * 2.5) * np.log((1.6 / 2.2) / (1 - 1.6 / 2.2))
    problem = problem_of(two, Paper(), Prior())
    # with 1 on the diagonal of the head and 0.05 beside it: 10 s less what 50 and 40 CC take
    a = np.asarray([-1 + 0.05 * 0.9, -1 + 0.5 + 0.05 * 0.4, -1 + 0.4 + 0.05 * 0.5])
    weight = 1 / (1 + ((1.7 - 1.5) / 0.3) ** 2)
    a[2] += more * weight / (1 + weight)
    head = [1, 0.05, 0.05, 0.05, 1, 0.05, 0.05, 0.05, 1]
    assert problem.centre == pytest.approx(np.concatenate([a, head, np.zeros(12)]))
    # and how firmly: a to 2.0, the head to 0.2 and 0.05, log slopes to 0.15, skews to 0.3, each sheet to 0.004
    doubt = [2.0] * 3 + [0.2, 0.05, 0.05, 0.05, 0.2, 0.05, 0.05, 0.05, 0.2] + [0.15] * 3 + [0.3] * 3 + [0.004] * 6
    assert problem.firm == pytest.approx(np.diag(1 / np.asarray(doubt)))
    assert problem.sheets == 2 and problem.sheet.tolist() == [0, 1]


# ── the next setting ─────────────────────────────────────────────────────────

AT_ONE = (1.0, (0.0, 0.0, 0.0))
"""Where every layer of ``known`` is at half of its reach, x = 0."""


def made(x: tuple[float, float, float]) -> np.ndarray:
    """The densities that exposures ``x`` make."""
    return np.asarray(densities(Paper(), np.asarray([x]))[0])


def to(x: tuple[float, float, float], **limits: float) -> Next:
    """The setting for exposures ``x``, of a head whose every control takes from its own layer alone."""
    return next_setting(known(np.zeros((0, 3))), AT_ONE, made(x).tolist(), times=(1e-3, 1e3), **limits)


def test_a_step_of_two_stops_is_the_longest() -> None:
    """Three tenths and a half less in two layers: 20 CC and 50 CC in those. 0.61 is cut to 0.6, and the others alike."""
    then = to((0.59, 0.39, 0.09))
    assert then.whole and then.seconds == pytest.approx(10**0.59) and then.controls == pytest.approx((0, 0.2, 0.5))
    for far, share in ((0.61, 0.6 / 0.61), (1.0, 0.6)):
        then = to((far, 0.3, 0.0))
        assert not then.whole and then.met and then.seconds == pytest.approx(10**0.6)
        assert then.controls == pytest.approx((0, 0.6 - 0.3 * share, 0.6))
        assert then.density == pytest.approx(made((0.6, 0.3 * share, 0.0)))
    same = to((0.0, 0.0, 0.0))
    assert same.whole and same.seconds == pytest.approx(1) and same.controls == pytest.approx((0, 0, 0))


def test_the_time_for_a_pack_in_steps_is_weighed_by_what_a_miss_does_to_the_print() -> None:
    """Exactly 10 s with 0, 13 and 27 CC; 15 and 25 CC are 0.02 too much and too little. Slopes of 2, 2.5 and 3, squared."""
    here = Estimate(
        np.asarray([-1.0, -0.87, -0.73]), np.eye(3), Paper(slope=np.asarray([2.0, 2.5, 3.0])), NONE, np.zeros((1, 3)), 0, 1
    )
    then = next_setting(here, (10, (0, 0.13, 0.27)), (1.2, 1.2, 1.2), grain=0.05)
    assert then.controls == pytest.approx((0, 0.15, 0.25))
    assert then.seconds == pytest.approx(10 ** ((4 * 1.00 + 6.25 * 1.02 + 9 * 0.98) / 19.25))
    assert then.met and then.density == pytest.approx(here.predict(then.seconds, then.controls))


@pytest.mark.parametrize(
    ("beyond", "grain", "met"), [(0.011, 0, True), (0.013, 0, False), (0.05, 0.05, True), (0.06, 0.05, False)]
)
def test_a_hundredth_or_a_step_of_the_head_is_no_miss(beyond: float, grain: float, met: bool) -> None:
    """A head that ends at 30 CC, for 30 CC and a little ``beyond``: as the first two layers stand at the floor, the time is
    shorter by so much of it as the last layer's slope, squared, is of the sum, and the last misses the rest."""
    x = (0.0, 0.0, -0.3 - beyond)
    slopes = dye_slopes(Paper(), np.asarray([x]))[0] ** 2
    then = to(x, top=0.3, grain=grain)
    assert then.controls == pytest.approx((0, 0, 0.3), abs=1e-9)
    assert np.log10(then.seconds) == pytest.approx(-beyond * slopes[2] / slopes.sum())
    assert then.met is met is bool(beyond * (1 - slopes[2] / slopes.sum()) < max(0.01, grain))


inside = st.lists(st.floats(-0.6, 0.6), min_size=3, max_size=3)


@example([-0.6, 0.5, 0.2], [0.0] * 9, 0.0, 0.3)  # each control once at the top, beside each other one at the floor
@example([-0.6, 0.2, 0.5], [0.0] * 9, 0.0, 0.3)
@example([0.5, -0.6, 0.2], [0.0] * 9, 0.0, 0.3)
@example([0.2, -0.6, 0.5], [0.0] * 9, 0.0, 0.3)
@example([0.5, 0.2, -0.6], [0.0] * 9, 0.0, 0.3)
@example([0.2, 0.5, -0.6], [0.0] * 9, 0.0, 0.3)
@given(inside, st.lists(st.floats(-0.3, 0.3), min_size=9, max_size=9), st.sampled_from([0.0, 0.1]), st.floats(0.2, 0.7))
def test_of_all_packs_the_nearest_as_scipy_finds_it(
    wanted: list[float], beside: list[float], floor: float, top: float
) -> None:
    """One control at the floor, the others between it and the top, and any time: bounded least squares, three times."""
    here = Estimate(
        np.asarray([-0.1, 0.1, 0.2]), np.eye(3) + np.reshape(beside, (3, 3)), Paper(), NONE, np.zeros((1, 3)), 0, 1
    )
    counts = dye_slopes(here.paper, np.asarray(wanted))

    def miss(log_time: float, controls: np.ndarray) -> float:
        return float(np.linalg.norm(counts * (here.a + log_time - here.head @ controls - wanted)))

    misses = []
    for k in range(3):  # bounds of one control a hair apart: it stands at the floor
        low, high = np.asarray([-np.inf, *[floor] * 3]), np.asarray([np.inf, *[top] * 3])
        high[1 + k] = floor + 1e-9
        columns = np.column_stack([np.ones(3), -here.head]) * counts[:, None]
        found = lsq_linear(columns, (np.asarray(wanted) - here.a) * counts, (low, high), tol=1e-14).x
        misses.append(miss(found[0], found[1:]))
    controls, log_time = _setting_for(here, np.asarray(wanted), floor, top)
    assert min(controls) == pytest.approx(floor) and max(controls) <= top
    assert miss(log_time, controls) == pytest.approx(min(misses), abs=1e-6)


@pytest.mark.parametrize(
    ("seconds", "within", "stops"),
    [
        (5, 5, 0), (45, 45, 0), (45.1, 22.55, 1), (180, 45, 2), (181, 22.625, 3), (4.9, 9.8, -1), (2.5, 5, -1), (1, 8, -3),
        (1e9, 1e9 / 4096, 12), (1e-9, 4096e-9, -12),
    ],
)  # fmt: skip
def test_a_time_that_is_too_long_or_short_is_brought_back_by_whole_stops(seconds: float, within: float, stops: int) -> None:
    assert _within(seconds, (5, 45)) == (pytest.approx(within), stops)


def test_a_curve_is_taken_to_be_skew_so_far_and_no_further() -> None:
    """artanh of the skew goes to 2 either way: 0.964 of the way to a curve that is all toe, or all shoulder."""
    problem = problem_of([Reading(10.0, (0.0, 0.5, 0.5), (0.7, 0.7, 0.7), 0.01, 1)], Paper(), Prior())
    theta = problem.begin()
    theta[15:18] = 9.0, -9.0, 1.5
    assert problem.parts(theta)[2].skew == pytest.approx([math.tanh(2), -math.tanh(2), math.tanh(1.5)])
