"""What is said of a next sheet, worked out by hand: how far it may be off, and whether head and paper have it at all."""

import numpy as np
import pytest

from timer.craft.sensitometry import Paper, dye_slopes
from timer.craft.solve import FORM, FORM_NEAR, Estimate, Reading, estimate, next_setting, weights, whitening

AIM = (0.76, 0.74, 0.72)
NONE = np.zeros((18, 18))


def known(read: np.ndarray, paper: Paper | None = None, covariance: np.ndarray = NONE, process: float = 0.01) -> Estimate:
    """With 1 s and no filter every layer is at half of its reach: 1.2, where the slope is the paper's."""
    return Estimate(np.zeros(3), np.eye(3), paper or Paper(), covariance, np.zeros((1, 3)), process, 1, read)


def test_a_reading_at_the_place_itself_leaves_the_baths_and_a_little_of_the_form() -> None:
    spread = known(np.full((1, 3), 1.2)).spread(1.0, (0, 0, 0))
    form = FORM_NEAR**2
    assert spread == pytest.approx(np.eye(3) * (0.01 * 2.5) ** 2 + form * (np.eye(3) + 1) / 2)


def test_the_form_of_the_curve_counts_from_the_nearest_reading() -> None:
    read = np.asarray([[1.0, 1.2, 1.5], [0.5, 1.1, 1.4]])  # 0.2, 0 and 0.2 away, whichever patch it is
    spread = known(read, process=0.0).spread(1.0, (0, 0, 0))
    far = np.asarray([FORM * 0.2 + FORM_NEAR, FORM_NEAR, FORM * 0.2 + FORM_NEAR])
    assert np.sqrt(np.diag(spread)) == pytest.approx(far)
    assert spread[0, 1] == pytest.approx(far[0] * far[1] / 2)
    assert known(np.zeros((0, 3)), process=0.0).spread(1.0, (0, 0, 0)) == pytest.approx(np.zeros((3, 3)))


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
