"""What sheets teach: against scipy's own least squares over all of them at once, by hand, and in hidden darkrooms."""

import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import least_squares
from scipy.stats import chi2

from tests.tools.dark_paper import Darkroom
from timer.craft import learn as learning
from timer.craft.chance import chi_square_limit
from timer.craft.learn import ANY, Learned, Lesson, fit, learn
from timer.craft.sensitometry import Paper, densities, dye_slopes, exposures_for
from timer.craft.solve import Prior, Reading, estimate, problem_of

AIM = (0.76, 0.74, 0.72)
FIRST = ((10.0, (0, 0.5, 0.5)), (7.1, (0, 0.5, 0.5)), (14.1, (0, 0.5, 0.5)), (10.0, (0, 0.7, 0.5)), (10.0, (0, 0.5, 0.7)))
HEAD = np.asarray([[0.85, 0.10, 0.02], [0.08, 1.10, 0.03], [0.01, 0.09, 0.90]])
SLOPE = np.asarray([2.9, 2.6, 2.2])


def sheet(number: int, seed: int, head: np.ndarray = HEAD, slope: np.ndarray = SLOPE, sign: int = 1) -> tuple[Reading, ...]:
    """Five patches on a paper of the solver's own family, read with an error of 0.005."""
    chance = np.random.default_rng(seed)
    here = np.asarray([-0.2, -0.1, -0.2]) + chance.normal(0, 0.05, 3)
    out = []
    for seconds, u in FIRST:
        x = sign * here + np.log10(seconds / FIRST[0][0]) - head @ (np.asarray(u) - FIRST[0][1])
        d = densities(Paper(slope=slope, sign=sign), x[None])[0] + chance.normal(0, 0.005, 3)
        out.append(Reading(seconds, u, (float(d[0]), float(d[1]), float(d[2])), 0.01, number))
    return tuple(out)


def lessons(count: int) -> list[Lesson]:
    return [Lesson(sheet(n, n), AIM) for n in range(count)]


def known(count: int = 6) -> Learned:
    found = learn(lessons(count))
    assert found
    return found


def at_aim(paper: Paper) -> np.ndarray:
    """The slope of each layer at the aim."""
    return dye_slopes(paper, exposures_for(paper, AIM))


# ── what is learned ──────────────────────────────────────────────────────────


def test_sheets_of_other_negatives_teach_head_and_slope() -> None:
    found = known()
    columns = [1, 2]  # cyan was never in
    assert found.head[:, columns] == pytest.approx(HEAD[:, columns], abs=0.04)
    assert at_aim(found.paper()) == pytest.approx(at_aim(Paper(slope=SLOPE)), rel=0.05)
    assert found.sheets == (6, 0, 0) and found.odd == ()


def test_what_was_never_changed_is_not_learned() -> None:
    found = known()
    prior = Prior()
    assert found.head[:, 0] == pytest.approx(prior.head[:, 0], abs=1e-6)
    assert found.error[[0, 3, 6]] == pytest.approx(prior.head_error[:, 0])  # nor forgotten below what was believed


def test_without_drift_it_is_what_all_sheets_say_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """One after another comes to what scipy finds of all together, each negative with an a of its own."""
    monkeypatch.setattr(learning, "DRIFT", (0.0, 0.0, 0.0))
    several = lessons(3)
    problems = [problem_of(each.readings, Paper(), Prior(), each.aim) for each in several]

    def residuals(theta: np.ndarray) -> np.ndarray:
        shared, out = theta[:15], []
        for n, problem in enumerate(problems):
            own = theta[15 + 6 * n : 21 + 6 * n]
            full = np.concatenate([own[:3], shared, own[3:]])
            readings = problem.residuals(full)[: 3 * len(several[n].readings)]
            out += [
                readings,
                problem.firm[0, 0] * (own[:3] - problem.centre[:3]),
                own[3:] / (learning.PROCESS if n else Prior().process),
            ]
        return np.concatenate(
            [*out, np.linalg.inv(np.linalg.cholesky(Prior().learned())) @ (shared - problems[0].centre[3:18])]
        )

    begin = np.concatenate([problems[0].centre[3:18], *[np.concatenate([p.centre[:3], np.zeros(3)]) for p in problems]])
    best = least_squares(residuals, begin, xtol=1e-12, ftol=1e-12, gtol=1e-12)
    found = learn(several)
    assert found
    assert found.head.ravel() == pytest.approx(best.x[:9], abs=0.004)
    assert np.log(found.slope / 2.5) == pytest.approx(best.x[9:12], abs=0.01)
    covariance = np.linalg.inv(best.jac.T @ best.jac)[:15, :15]
    assert found.error == pytest.approx(np.sqrt(np.diag(covariance)), rel=0.05)


def test_more_sheets_are_surer_and_doubt_never_ends() -> None:
    errors = [known(n).error[[1, 4, 9]].max() for n in (1, 3, 10)]
    assert errors[0] > errors[1] > errors[2]
    assert known(25).error.min() > 0.01  # as much as a negative more adds


def test_the_newest_sheets_count_most() -> None:
    """A slope that rose by 15 %: after as many sheets as before, what is known is nearer to the new one."""
    after = [Lesson(sheet(10 + n, n, slope=SLOPE * 1.15), AIM) for n in range(5)]
    found = learn([*lessons(5), *after])
    assert found
    assert np.all(at_aim(found.paper()) > at_aim(Paper(slope=SLOPE * 1.08)))


def test_one_setting_teaches_nothing() -> None:
    one = sheet(1, 1)[:1]
    assert learn([Lesson(one, AIM)]) is None
    near = Reading(one[0].seconds * 1.05, one[0].controls, (0.95, 0.95, 0.95))  # 0.02 in log time: the same setting
    assert learn([Lesson((*one, near), AIM)]) is None
    assert learn([]) is None
    two = Reading(one[0].seconds * 1.3, one[0].controls, (1.2, 1.1, 1.0))
    assert learn([Lesson((*one, two), AIM)])


def test_a_setting_is_another_by_any_control() -> None:
    first = Reading(10, (0.0, 0.5, 0.5), (0.8, 0.8, 0.8))
    for u in ((0.2, 0.5, 0.5), (0.0, 0.7, 0.5), (0.0, 0.5, 0.7)):
        assert learn([Lesson((first, Reading(10, u, (0.6, 0.6, 0.6))), AIM)])


def test_two_settings_of_one_density_teach_nothing() -> None:
    assert (
        learn([Lesson((Reading(10, (0, 0.5, 0.5), (0.8, 0.8, 0.8)), Reading(14, (0, 0.5, 0.5), (0.8, 0.8, 0.8))), AIM)])
        is None
    )


@pytest.mark.parametrize(
    ("lighter", "darker"),
    [
        ((0.5, (0, 0.5, 0.5)), (0.5, (0, 0.2, 0.5))),  # below a second
        ((10, (0, 0.3, 0.3)), (10 * 10**0.12, (0, 0.3, 0.6))),  # 0.12 in time and a tenth, a third of 30 CC, back: 0.02 more
        ((10 * 10**0.08, (0, 0.3, 0.6)), (10, (0, 0.3, 0.3))),
    ],
)
def test_light_is_time_less_a_third_of_the_pack(
    lighter: tuple[float, tuple[float, float, float]], darker: tuple[float, tuple[float, float, float]]
) -> None:
    two = (Reading(*lighter, (0.7, 0.7, 0.7)), Reading(*darker, (0.9, 0.9, 0.9)))
    assert learn([Lesson(two, AIM)])
    assert learn([Lesson(two, AIM)], -1) is None


def test_all_patches_say_which_way_it_darkens() -> None:
    """Twice as long gives, of 2.0 each, once 0.1 and once 3.8: less on the whole, if not by the square."""
    rows = ((10, (0.5, 0.5), 2.0), (20, (0.5, 0.6), 0.1), (20, (0.6, 0.5), 3.8))
    three = tuple(Reading(s, (0, m, y), (d / 3, d / 3, d / 3)) for s, (m, y), d in rows)
    assert learn([Lesson(three, AIM)]) is None and learn([Lesson(three, AIM)], -1)


def test_a_lesson_that_teaches_nothing_is_passed_over() -> None:
    first, rest = Lesson(sheet(30, 30)[:1], AIM), lessons(2)
    found, without = learn([first, *rest]), learn(rest)
    assert found and without and found.sheets == (2, 0, 0)
    assert found.head == pytest.approx(without.head) and found.covariance == pytest.approx(without.covariance)


def test_a_sheet_that_darkens_the_wrong_way_is_of_other_material() -> None:
    assert learn(lessons(1), -1) is None
    reversal = [Lesson(sheet(1, 1, sign=-1), AIM)]
    assert learn(reversal) is None
    found = learn(reversal, -1)
    assert found and np.all(found.slope > 0) and found.paper(-1).sign == -1 and found.paper().sign == 1


def test_other_boxes_and_papers_come_first_and_with_doubt() -> None:
    same = known(2)
    mixed = learn([*lessons(2), Lesson(sheet(7, 7), AIM, 1), Lesson(sheet(8, 8), AIM, 2)])
    assert mixed and mixed.sheets == (2, 1, 1)
    assert np.all(mixed.error <= same.error * 1.1)  # they help, if not much; at another place of a curve
    assert np.all(mixed.error[[4, 8]] < same.error[[4, 8]])
    box, paper = learn([Lesson(sheet(7, 7), AIM, 1)]), learn([Lesson(sheet(7, 7), AIM, 2)])
    own = learn([Lesson(sheet(7, 7), AIM)])
    assert own and box and paper
    taught, most = np.diag(estimate(sheet(7, 7), aim=AIM).covariance)[3:], np.diag(Prior().learned())
    for found, head, slope, skew in (
        (own, 0.01**2, 0.02**2, 0.02**2),
        (box, 0.01**2 + 0.02**2, 0.02**2 + 0.05**2, 0.02**2 + 0.05**2),
        (paper, 0.01**2 + 0.02**2 + 0.05**2, 0.02**2 + 0.05**2 + 0.15**2, 0.02**2 + 0.05**2 + 0.3**2),
    ):
        assert np.diag(found.covariance) == pytest.approx(
            np.minimum(most, taught + np.repeat([head, slope, skew], [9, 3, 3]))
        )
    assert paper.sheets == (0, 0, 1) and box.sheets == (0, 1, 0)


def test_sheets_further_apart_are_learned_first_however_they_are_given() -> None:
    box, paper, own = Lesson(sheet(7, 7), AIM, 1), Lesson(sheet(8, 8), AIM, 2), Lesson(sheet(9, 9), AIM)
    one, other = learn([paper, box, own]), learn([own, box, paper])
    assert one and other
    assert other.slope == pytest.approx(one.slope, rel=1e-12) and other.covariance == pytest.approx(one.covariance, rel=1e-9)


# ── what it is good for ──────────────────────────────────────────────────────


def test_one_patch_with_a_known_head_is_nearer_than_without() -> None:
    """In the darkrooms of chance, none of the solver's family: what the next sheet is predicted to have, against what it has."""
    errors = []
    for seed in range(12):
        room = Darkroom(random.Random(seed), process=1e-9, drift=1e-9)
        here, taught = room.a, list[Lesson]()
        settings = [(s, (float(u[0]), float(u[1]), float(u[2]))) for s, u in FIRST]
        for n in range(3):
            room.a = here + np.asarray([room.chance.gauss(0, 0.1) for _ in range(3)])
            rows = zip(settings, room.sheet(settings), strict=True)
            taught.append(Lesson(tuple(Reading(s, u, (d[0], d[1], d[2]), 0.01, n) for (s, u), d in rows), AIM))
        room.a = here
        d = room.still(settings[:1])[0]
        one = [Reading(*settings[0], (d[0], d[1], d[2]))]
        there = (8.0, (0.0, 0.65, 0.35))
        true = room.still([there])[0]
        found = [fit(one, learned, AIM).known.predict(*there) - true for learned in (learn(taught), None)]
        errors.append([float(np.abs(each).max()) for each in found])
    with_it, without = np.median(errors, axis=0)
    assert with_it < 0.04 and with_it < 0.5 * without


def test_without_anything_learned_it_is_the_plain_estimate() -> None:
    plain, found = estimate(sheet(1, 1), aim=AIM), fit(sheet(1, 1), None, AIM)
    assert found.known.head == pytest.approx(plain.head) and not found.doubted
    assert (found.surprise, found.limit) == (0, 0)
    reversal = fit(sheet(1, 1, sign=-1), None, AIM, -1)
    assert reversal.known.paper.sign == -1


# ── contradictions ───────────────────────────────────────────────────────────


def test_a_sheet_that_agrees_is_believed() -> None:
    found = fit(sheet(50, 50), known(), AIM)
    assert not found.doubted and found.known.misfit < found.limit and found.surprise == 0
    assert found.limit == pytest.approx(chi2.ppf(0.999, 9), rel=0.01)  # time, magenta, yellow: in three layers


@pytest.mark.parametrize("other", [{"slope": SLOPE * 1.6}, {"slope": SLOPE * 0.65}, {"head": HEAD[:, [0, 2, 1]]}])
def test_a_sheet_of_another_paper_or_head_is_said_and_what_was_learned_counts_less(other: dict[str, np.ndarray]) -> None:
    learned, new = known(), sheet(50, 50, other.get("head", HEAD), other.get("slope", SLOPE))
    found = fit(new, learned, AIM)
    assert found.doubted and found.surprise > found.limit
    trusting = estimate(new, learned.paper(), learned.prior(), AIM)
    assert np.abs(found.known.residuals).max() < np.abs(trusting.residuals).max()
    assert found.known.misfit < trusting.misfit
    assert np.all(np.diag(found.known.covariance)[12:] > np.diag(trusting.covariance)[12:])
    assert np.all(np.diag(found.known.covariance)[3:] <= np.diag(Prior().learned()) + 1e-9)  # less is not believed


def test_readings_that_fit_better_than_chance_do_not_lower_the_limit() -> None:
    """Read without an error, on a paper half as steep again: with any paper they fit, so that chi-square's own limit holds."""
    exact = []
    for seconds, u in FIRST:
        x = np.asarray([-0.2, -0.1, -0.2]) + np.log10(seconds / 10) - HEAD @ (np.asarray(u) - FIRST[0][1])
        red, green, blue = densities(Paper(slope=SLOPE * 1.5), x[None])[0]
        exact.append(Reading(seconds, u, (float(red), float(green), float(blue)), 0.01, 50))
    assert estimate(exact, Paper(), ANY, AIM).misfit < 15 - 3 - 9
    found = fit(exact, known(), AIM)
    assert found.surprise > 0 and found.limit == pytest.approx(chi2.ppf(0.999, 9), rel=0.01)


def test_one_that_contradicts_is_counted_as_odd_and_the_next_believed() -> None:
    other = [Lesson(sheet(20 + n, 20 + n, slope=SLOPE * 1.4), AIM) for n in range(3)]
    found = learn([*lessons(6), *other])
    assert found and found.odd == (20,) and found.sheets == (9, 0, 0)
    assert at_aim(found.paper()) == pytest.approx(at_aim(Paper(slope=SLOPE * 1.4)), rel=0.12)


def test_readings_that_do_not_fit_themselves_are_no_contradiction() -> None:
    """One patch read twice, once wrongly: that spoils the fit with or without what was learned."""
    good = sheet(50, 50)
    red, green, blue = good[0].density
    bad = [*good, Reading(good[0].seconds, good[0].controls, (red + 0.15, green - 0.1, blue), 0.01, 50)]
    found = fit(bad, known(), AIM)
    assert estimate(bad, aim=AIM).misfit > chi2.ppf(0.999, 9)
    assert not found.doubted and 0 < found.surprise < found.limit
    assert found.limit == pytest.approx(
        chi2.ppf(0.999, 9) * estimate(bad, Paper(), ANY, AIM).misfit / (18 - 3 - 9), rel=0.01
    )
    trusting = estimate(bad, known().paper(), known().prior(), AIM)  # so what was learned counts as before
    assert found.known.misfit == pytest.approx(trusting.misfit, rel=1e-9)


def test_surprise_is_the_misfit_less_that_with_any_head_and_paper() -> None:
    learned, new = known(), sheet(50, 50, slope=SLOPE * 1.6)
    wide = Prior(
        head_error=np.full((3, 3), 0.2) + 0.6 * np.eye(3), slope_error=0.6, skew_error=1.2, process=0.0075
    )  # four times 0.05, 0.2, 15 % and 0.3
    least = [estimate(new, learned.paper(), learned.prior(), AIM).misfit, estimate(new, Paper(), wide, AIM).misfit]
    assert fit(new, learned, AIM).surprise == pytest.approx(least[0] - least[1], rel=1e-6)


def test_what_was_learned_counts_less_by_the_surprise_in_each_degree_of_freedom() -> None:
    learned, new = replace(known(), covariance=1e-6 * np.eye(15)), sheet(50, 50, slope=SLOPE * 1.3)
    found = fit(new, learned, AIM)
    assert found.doubted and 30 < found.surprise < 50
    wider = Prior(head=learned.head, process=0.0075, known=1e-6 * np.eye(15) * found.surprise / 9)
    again = estimate(new, learned.paper(), wider, AIM)
    assert found.known.head == pytest.approx(again.head) and found.known.covariance == pytest.approx(again.covariance)


def test_what_fits_better_with_it_than_with_any_head_is_no_surprise_at_all() -> None:
    """Two readings of one patch that cannot both be true, and a head and paper that are just what they suggest."""
    new = sheet(60, 60)
    bad = [*new, Reading(new[0].seconds, new[0].controls, (1.1, 0.4, 0.9), 0.01, 50)]
    best = estimate(bad, Paper(), learning.ANY, AIM)
    learned = Learned(best.head, best.paper.slope, best.paper.skew, 1e-6 * np.eye(15), (1, 0, 0))
    assert estimate(bad, learned.paper(), learned.prior(), AIM).misfit < best.misfit
    found = fit(bad, learned, AIM)
    assert found.known.misfit > chi2.ppf(0.999, 9) and found.surprise == 0 and not found.doubted


def test_from_another_paper_to_another_box_is_not_yet_to_this_one() -> None:
    taught = replace(known(), covariance=1e-4 * np.eye(15))
    for apart, to, head in ((2, 2, 0.0), (2, 1, 0.05**2), (1, 0, 0.02**2), (2, 0, 0.05**2 + 0.02**2), (0, 0, 0.0)):
        nearer = learning._nearer(taught, apart, to)
        assert nearer and nearer.covariance[4, 4] == pytest.approx(1e-4 + 0.01**2 + head)


def test_a_single_reading_cannot_contradict() -> None:
    found = fit([Reading(10, (0, 0.5, 0.5), (0.2, 1.6, 0.3))], known(), AIM)
    assert not found.doubted and found.limit == 0


def test_learned_is_never_doubted_into_less_than_what_is_believed_of_any_head() -> None:
    found = fit(sheet(50, 50, HEAD[:, [0, 2, 1]]), known(), AIM)  # surprise a hundred times its freedom
    assert found.doubted
    believed = np.diag(Prior().learned())
    assert np.all(np.diag(found.known.covariance)[3:] <= believed + 1e-9)


@pytest.mark.parametrize("freedom", [1, 2, 3, 6, 9, 12])
@pytest.mark.parametrize("share", [0.95, 0.999])
def test_the_limit_is_chi_squares(freedom: int, share: float) -> None:
    assert chi_square_limit(freedom, share) == pytest.approx(chi2.ppf(share, freedom), rel=0.035)


def test_no_freedom_no_limit() -> None:
    assert chi_square_limit(0) == 0 and chi_square_limit(-3) == 0


@given(st.integers(0, 10_000), st.integers(2, 5))
def test_whatever_sheets_say_what_is_learned_is_a_covariance(seed: int, patches: int) -> None:
    chance = np.random.default_rng(seed)
    wild = [Reading(s, u, tuple(chance.uniform(-0.5, 3, 3)), 0.01, 1) for s, u in FIRST[:patches]]
    found = learn([Lesson(sheet(0, seed), AIM), Lesson(tuple(wild), AIM), Lesson(sheet(2, seed + 1), AIM, 1)])
    assert found
    assert np.linalg.eigvalsh(found.covariance).min() > 0 and np.all(np.isfinite(found.head)) and np.all(found.slope > 0)
