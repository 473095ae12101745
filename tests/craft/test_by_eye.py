"""How far looks are followed, worked out by hand."""

import numpy as np
import pytest

from timer.craft.by_eye import STEP, TELLS, right_by_eye
from timer.craft.sensitometry import Paper, exposures_for
from timer.craft.solve import FORM_NEAR, Estimate, Reading, estimate, next_setting

HERE = (1.0, (0.0, 0.0, 0.0))
MIDDLE = np.full(3, 1.2)
"""The density that a plain paper has at x = 0, where its slope is 2.5."""


def known(a_error: float) -> Estimate:
    """At half of the reach, read there; ``a_error``: of each layer's exposure, alone."""
    covariance = np.zeros((18, 18))
    covariance[:3, :3] = a_error**2 * np.eye(3)
    return Estimate(np.zeros(3), np.eye(3), Paper(), covariance, np.zeros((1, 3)), 0.0, 1, MIDDLE[None])


def test_right_is_what_looks_cannot_tell_from_the_aim() -> None:
    """0.02 in log exposure is 0.05 in density: of the mean of three 0.05 over the root of three, of a colour against that
    mean the root of two thirds of it; the form of the curve adds 0.013, half of it in all."""
    own, form = 0.05**2, FORM_NEAR**2
    density = TELLS * np.sqrt(own / 3 + form * (1 / 2 + 1 / 6))
    cast = TELLS * np.sqrt(own * 2 / 3 + form / 3)
    for share, right in ((0.98, True), (1.02, False)):
        assert right_by_eye(known(0.02), HERE, MIDDLE + share * density) is right
        assert right_by_eye(known(0.02), HERE, MIDDLE - share * density) is right
        for off in ((1.0, -0.5, -0.5), (-0.5, 1.0, -0.5)):  # a cast, its density right
            assert right_by_eye(known(0.02), HERE, MIDDLE + share * cast * np.asarray(off)) is right


def test_a_step_is_a_share_of_the_way() -> None:
    """In exposure, of which the whole way is from a density of 0.9 to one of 0.74; and of two stops, where it is longer."""
    paper = Paper()
    found = estimate([Reading(10, (0, 0.5, 0.5), (0.9, 0.9, 0.9))])
    way = exposures_for(paper, (0.74,) * 3) - exposures_for(paper, (0.9,) * 3)
    then = next_setting(found, (10, (0, 0.5, 0.5)), (0.74,) * 3, share=STEP)
    assert np.log10(then.seconds / 10) == pytest.approx(STEP * way[0], abs=1e-3)
    far = next_setting(found, (10, (0, 0.5, 0.5)), (2.2,) * 3, share=STEP, times=(1, 1000))
    assert np.log10(far.seconds / 10) == pytest.approx(STEP * 0.6, abs=1e-3) and not far.whole
