"""What is said of a next sheet, worked out by hand: how far it may be off, and whether head and paper have it at all."""

import numpy as np
import pytest

from timer.craft.sensitometry import Paper, dye_slopes
from timer.craft.solve import FORM, FORM_NEAR, Estimate, Reading, estimate, next_setting, weights

AIM = (0.76, 0.74, 0.72)
NONE = np.zeros((15, 15))


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
    a_alone = np.zeros((15, 15))
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
