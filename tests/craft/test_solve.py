"""The solver against scipy's, its derivatives against differences, and its next step against the model itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares

from timer.craft.sensitometry import Paper, densities, dye_slopes, exposures_for
from timer.craft.solve import Prior, Reading, estimate, next_setting, problem_of, weights

PATCHES = ((10.0, (0, 0.5, 0.5)), (7.9, (0, 0.5, 0.5)), (12.6, (0, 0.5, 0.5)), (10.0, (0, 0.7, 0.5)), (10.0, (0, 0.5, 0.7)))


def readings(seed: int, error: float = 0.01) -> list[Reading]:
    """Five patches of a paper and a head off the prior, with errors."""
    chance = np.random.default_rng(seed)
    paper = Paper(slope=chance.normal(2.5, 0.2, 3))
    head = Prior().head + chance.normal(0, 0.05, (3, 3))
    a = np.asarray([-1.3, -0.8, -0.8]) + chance.normal(0, 0.1, 3)
    out = []
    for seconds, u in PATCHES:
        x = a + np.log10(seconds) - head @ np.asarray(u)
        d = densities(paper, x[None])[0] + chance.normal(0, error, 3)
        out.append(Reading(seconds, u, (float(d[0]), float(d[1]), float(d[2])), error))
    return out


@pytest.mark.parametrize("seed", range(8))
def test_the_same_minimum_as_scipy_and_the_same_covariance(seed: int) -> None:
    given_readings = readings(seed)
    problem = problem_of(given_readings, Paper(), Prior())
    ours = estimate(given_readings)
    theirs = least_squares(
        problem.residuals, problem.centre, jac="2-point", method="trf", xtol=1e-12, ftol=1e-12, gtol=1e-12
    )
    a, head, paper, _ = problem.parts(theirs.x)
    assert ours.a == pytest.approx(a, abs=1e-5)
    assert ours.head == pytest.approx(head, abs=1e-5)
    assert ours.paper.slope == pytest.approx(paper.slope, abs=1e-4)
    whole = np.linalg.inv(theirs.jac.T @ theirs.jac)[:18, :18]
    assert ours.covariance == pytest.approx(whole, rel=1e-3, abs=1e-7)


@pytest.mark.parametrize("seed", [0, 2, 3, 4, 16])
def test_readings_that_fit_nothing_come_to_minpacks_minimum(seed: int) -> None:
    """Densities of chance, where a whole step leads away from the minimum: it is not taken."""
    chance = np.random.default_rng(seed)
    rows = [(s, u, chance.uniform(0, 2.5, 3).tolist()) for s, u in PATCHES[: 2 + seed % 4]]
    wild = [Reading(s, u, (red, green, blue), 0.01, 1) for s, u, (red, green, blue) in rows]
    problem = problem_of(wild, Paper(), Prior())
    theirs = least_squares(
        problem.residuals, problem.begin(), problem.jacobian, method="lm", xtol=1e-12, ftol=1e-12, gtol=1e-12
    )
    assert estimate(wild).misfit == pytest.approx(2 * theirs.cost, rel=1e-5)


def test_the_derivatives_are_the_differences() -> None:
    problem = problem_of(readings(1), Paper(dyes=np.eye(3) + 0.1), Prior())
    theta = problem.centre + 0.03
    by_difference = np.column_stack(
        [(problem.residuals(theta + h) - problem.residuals(theta - h)) / 2e-6 for h in 1e-6 * np.eye(len(theta))]
    )
    assert problem.jacobian(theta) == pytest.approx(by_difference, rel=1e-5, abs=1e-4)


@given(st.lists(st.floats(-0.6, 0.6), min_size=3, max_size=3), st.sampled_from([1, -1]))
def test_exposures_and_densities_undo_each_other(x: list[float], sign: int) -> None:
    paper = Paper(sign=sign, dyes=np.eye(3) + 0.08)
    density = densities(paper, np.asarray([x]))[0]
    assert exposures_for(paper, density) == pytest.approx(x, abs=1e-9)
    assert np.all(dye_slopes(paper, np.asarray([x])) * sign > 0)


@given(st.integers(0, 10_000), st.floats(0.6, 1.0), st.floats(-0.15, 0.15), st.floats(-0.15, 0.15))
def test_the_next_setting_makes_the_aim_in_the_model_or_says_that_it_does_not(
    seed: int, grey: float, red: float, blue: float
) -> None:
    known = estimate(readings(seed))
    aim = (grey + red, grey, grey + blue)
    then = next_setting(known, PATCHES[0], aim)
    assert min(then.controls) == pytest.approx(0, abs=1e-9) and 5 <= then.seconds <= 45
    if then.whole and then.met:
        at = known.predict(then.seconds * 2.0**then.stops, then.controls)
        assert at == pytest.approx(aim, abs=0.03) and then.density == pytest.approx(at)


def test_a_far_aim_is_gone_to_by_steps() -> None:
    known = estimate(readings(2))
    assert not next_setting(known, (1.0, (0, 0.5, 0.5)), (0.9, 0.9, 0.9)).whole


def test_a_pack_in_the_steps_of_the_head_and_the_time_for_it() -> None:
    known = estimate(readings(3))
    then = next_setting(known, PATCHES[0], (0.8, 0.8, 0.8), grain=0.05)
    assert [round(u / 0.05, 6) % 1 for u in then.controls] == [0, 0, 0]
    assert float(np.mean(then.density)) == pytest.approx(0.8, abs=0.01)


def test_reversal_material_goes_the_other_way() -> None:
    paper = Paper(sign=-1)
    known = estimate([Reading(10, (0, 0.4, 0.4), (0.9, 0.7, 0.8))], paper)
    then = next_setting(known, (10, (0, 0.4, 0.4)), (0.8, 0.8, 0.8))
    other = estimate([Reading(10, (0, 0.4, 0.4), (0.9, 0.7, 0.8))])
    negative = next_setting(other, (10, (0, 0.4, 0.4)), (0.8, 0.8, 0.8))
    assert (then.controls[1] - 0.4) * (negative.controls[1] - 0.4) < 0


def test_three_lights_keep_the_brightest() -> None:
    known = estimate([Reading(10, (0.1, 0.3, 0.5), (0.8, 0.7, 0.9), 0.03)])
    then = next_setting(known, (10, (0.1, 0.3, 0.5)), (0.8, 0.8, 0.8), floor=0.1)
    assert min(then.controls) == pytest.approx(0.1)


def test_off_the_straight_part_a_reading_counts_less() -> None:
    straight, light, dark = (weights([Reading(10, (0, 0, 0), (d, d, d))])[0, 0] for d in (0.8, 0.15, 2.0))
    assert straight == 100 and light < 40 and dark < 40


def test_an_aim_off_the_paper_is_said() -> None:
    known = estimate(readings(4))
    with pytest.raises(ValueError, match=r"red density of 3\.00 is off this paper's range, 0\.12 to 2\.28"):
        next_setting(known, PATCHES[0], (3.0, 0.8, 0.8))
    with pytest.raises(ValueError, match="no readings"):
        estimate([])


def test_more_readings_and_smaller_errors_are_surer() -> None:
    wide = estimate(readings(5, 0.03)[:1]).spread(10, (0, 0.6, 0.5))
    close = estimate(readings(5, 0.01)).spread(10, (0, 0.6, 0.5))
    assert np.trace(close) < np.trace(wide) / 3
