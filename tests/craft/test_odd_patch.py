"""A patch that does not belong with the others: found, left out where that is clear, and never where it is not."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.learn import Lesson, fit, fit_without_odd, learn
from timer.craft.odd_patch import Odd, odd_patch
from timer.craft.sensitometry import Paper, densities, layer_exposures
from timer.craft.solve import Estimate, Reading

AIM = (0.76, 0.74, 0.72)
FIRST = [(10.0, (0.0, 0.55, 0.50)), (7.07, (0.0, 0.55, 0.50)), (14.14, (0.0, 0.55, 0.50)), (10.0, (0.0, 0.75, 0.50)),
         (10.0, (0.0, 0.55, 0.70))]  # fmt: skip
"""Seconds and controls of a first sheet's five patches."""
NONE = np.zeros((5, 3))


def sheet(off: np.ndarray, error: float = 0.01, number: int = 1) -> list[Reading]:
    """A first sheet as the model has it, with readings ``off`` (5, 3) by so much."""
    times, controls = np.asarray([s for s, _ in FIRST]), np.asarray([u for _, u in FIRST])
    x = layer_exposures(np.asarray([-0.9, -0.3, -0.35]), 0.05 + 0.9 * np.eye(3), np.log10(times), controls)
    read = densities(Paper(), x) + off
    return [Reading(s, u, (d[0], d[1], d[2]), error, number) for (s, u), d in zip(FIRST, read.tolist(), strict=True)]


def one_off(which: int, by: float) -> np.ndarray:
    return by * np.eye(5)[:, [which]] * np.ones(3)


def fitted(readings: Sequence[Reading]) -> Estimate:
    return fit(readings, None, AIM).known


def odd_of(readings: Sequence[Reading]) -> Odd | None:
    return odd_patch(readings, fitted(readings), fitted)


@pytest.mark.parametrize("which", range(5))
@pytest.mark.parametrize("error", [0.01, 0.03])
def test_the_wrong_patch_is_left_out(which: int, error: float) -> None:
    found, odd = fit_without_odd(readings := sheet(one_off(which, -0.3), error), None, AIM)
    assert odd and odd.which == which and odd.alone
    assert found.known.read.tolist() == [list(each.density) for n, each in enumerate(readings) if n != which]


@given(st.integers(0, 10_000), st.integers(0, 4), st.floats(-0.6, 0.6), st.booleans())
def test_no_right_patch_is_left_out_for_a_wrong_one(seed: int, which: int, by: float, neutral: bool) -> None:
    noise = np.random.default_rng(seed).uniform(-0.015, 0.015, (5, 3))
    colour = np.ones(3) if neutral else np.eye(3)[seed % 3]
    odd = odd_of(sheet(noise + one_off(which, by) * colour))
    assert odd is None or not odd.alone or odd.which == which


@given(st.integers(0, 10_000))
def test_what_an_instrument_scatters_is_not_odd(seed: int) -> None:
    """Within one and a half of its error."""
    noise = np.random.default_rng(seed).uniform(-0.015, 0.015, (5, 3))
    assert odd_of(sheet(noise)) is None


def test_a_print_is_never_left_out_and_of_three_patches_none() -> None:
    """What came of the last sheet is what the printer has, however unlike the one before: baths may have drifted."""
    first = sheet(NONE)
    made = Reading(9.0, (0.0, 0.6, 0.5), (0.2, 0.2, 0.2), 0.01, 2)
    odd = odd_of([*first, made])
    assert odd and odd.which == 5 and not odd.alone
    three = sheet(one_off(1, -0.5))[:3]
    found = odd_of(three)
    assert found is None or not found.alone


def test_of_two_readings_none_is_odd() -> None:
    assert odd_of([sheet(NONE)[0], sheet(one_off(1, 1.0))[1]]) is None


def test_two_wrong_patches_are_said_and_neither_is_left_out() -> None:
    odd = odd_of(sheet(one_off(1, -0.3) + one_off(3, 0.3)))
    assert odd and not odd.alone


def test_a_wrong_patch_teaches_nothing() -> None:
    """Neither of the head nor of the paper: as if it had not been read."""
    right = sheet(NONE)
    wrong = sheet(one_off(3, -0.4))
    taught = learn([Lesson(tuple(wrong), AIM)])
    without = learn([Lesson((*right[:3], right[4]), AIM)])
    assert taught and without
    assert taught.head == pytest.approx(without.head) and taught.slope == pytest.approx(without.slope)
    misled = fit(wrong, None, AIM).known.head
    assert abs(misled[1, 1] - without.head[1, 1]) > 0.1  # what it would have taught of magenta
