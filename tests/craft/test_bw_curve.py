"""A paper's curve from readings: scipy for the interpolation, drawn curves for R and P, each rule by hand."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, isotonic_regression

from timer.bench import paper
from timer.craft import bw_curve as craft
from timer.craft.bw_curve import CurveShort, IsoPoints, PaperCurve, errors, fit, iso_points, rounded_p, rounded_r

X = tuple(0.3 * n for n in range(9))
D = (0.05, 0.05, 0.08, 0.25, 0.80, 1.50, 1.95, 2.05, 2.05)
CURVE = PaperCurve(X, D, 0.05, 2.05)


def drawn(r: float, p: float, *, step: float = 0.15, beyond: float = 0.6, net: bool = False) -> list[tuple[float, float]]:
    """Readings of a logistic paper of that R and P, ``beyond`` of its range past highlight and shadow."""
    curve = paper.curve_for(r, p, net=net)
    low, high = curve.log_exposure(0.10), curve.log_exposure(1.89)
    past = beyond * (high - low)
    return [(float(x), float(curve.density(x))) for x in np.arange(low - past, high + past + step, step)]


rising = st.lists(st.tuples(st.floats(0.05, 1.0), st.floats(0, 0.5)), min_size=2, max_size=20).filter(
    lambda parts: sum(rise for _, rise in parts) > 0.6 and sum(rise for _, rise in parts) < 4
)


def of_parts(parts: list[tuple[float, float]]) -> PaperCurve:
    x = np.concatenate([[0.0], np.cumsum([wide for wide, _ in parts])])[: craft.MOST]
    d = np.concatenate([[0.05], 0.05 + np.cumsum([rise for _, rise in parts])])
    x = x / max(1.0, x[-1] / 9)
    assume(np.diff(x).min() > craft.SAME)
    return PaperCurve(tuple(map(float, x)), tuple(map(float, d)), float(d[0]), float(d[-1]))


# ── the line between readings ────────────────────────────────────────────────


@given(rising)
def test_the_line_is_scipys(parts: list[tuple[float, float]]) -> None:
    curve = of_parts(parts)
    scipys = PchipInterpolator(curve.log_exposure, curve.density)
    for x in np.linspace(curve.log_exposure[0], curve.log_exposure[-1], 57):
        assert curve.density_at(x) == pytest.approx(float(scipys(x)), abs=1e-9)
        assert curve.slope_at(x) == pytest.approx(float(scipys(x, 1)), abs=1e-6)


@given(rising)
def test_it_never_falls_and_never_overshoots(parts: list[tuple[float, float]]) -> None:
    curve = of_parts(parts)
    made = [curve.density_at(x) for x in np.linspace(curve.log_exposure[0] - 1, curve.log_exposure[-1] + 1, 200)]
    assert all(b >= a - 1e-9 for a, b in pairwise(made))
    assert min(made) == curve.base and max(made) == pytest.approx(curve.darkest)


@given(rising, st.floats(0, 1))
def test_the_exposure_of_a_density_makes_it(parts: list[tuple[float, float]], share: float) -> None:
    curve = of_parts(parts)
    density = min(curve.density[-1], curve.density[0] + share * (curve.density[-1] - curve.density[0]))
    assert curve.density_at(curve.exposure_for(density)) == pytest.approx(density, abs=1e-6)


@given(rising, st.floats(0.05, 0.95))
def test_the_inverse_is_brentqs(parts: list[tuple[float, float]], share: float) -> None:
    curve = of_parts(parts)
    density = curve.density[0] + share * (curve.density[-1] - curve.density[0])
    assume(all(abs(density - d) > 1e-3 for d in curve.density))  # on a flat part any exposure is right
    scipys = PchipInterpolator(curve.log_exposure, curve.density)
    found = brentq(lambda x: float(scipys(x)) - density, curve.log_exposure[0], curve.log_exposure[-1], xtol=1e-12)
    assert curve.exposure_for(density) == pytest.approx(found, abs=1e-5)


def test_by_hand() -> None:
    # three nodes a log unit apart, 0 to 1 to 2 in density: a straight line
    line = PaperCurve((0.0, 1.0, 2.0), (0.0, 1.0, 2.0), 0.0, 2.0)
    assert [line.density_at(x) for x in (-1, 0, 0.25, 1, 1.5, 2, 3)] == pytest.approx([0, 0, 0.25, 1, 1.5, 2, 2])
    assert [line.slope_at(x) for x in (-0.1, 0, 0.3, 2, 2.1)] == pytest.approx([0, 1, 1, 1, 0])
    # slopes 1 and 3, equal distances: 2 / (1/1 + 1/3) = 1.5; ends (3 * 1 - 3) / 2 = 0 and (3 * 3 - 1) / 2 = 4
    assert craft.monotone_slopes([0, 1, 2], [0, 1, 4]) == pytest.approx([0, 1.5, 4])
    # distances 1 and 2, slopes 1 and 0.5: weights 5 and 4, so 9 / (5/1 + 4/0.5)
    assert craft.monotone_slopes([0, 1, 3], [0, 1, 2]) == pytest.approx([(4 * 1 - 0.5) / 3, 9 / 13, (5 * 0.5 - 2 * 1) / 3])
    assert craft.monotone_slopes([0, 2], [1, 2]) == [0.5, 0.5]
    assert craft.monotone_slopes([0, 1, 2], [0, 0, 1]) == [0, 0, pytest.approx(1.5)]
    assert CURVE.density_at(0.3 * 4) == pytest.approx(0.80) and CURVE.exposure_for(0.80) == pytest.approx(1.2)


def test_densities_that_were_not_read_have_no_exposure() -> None:
    assert CURVE.exposure_for(0.05) == pytest.approx(0.0, abs=1e-9)
    assert CURVE.exposure_for(2.05) == pytest.approx(2.1, abs=1e-6)  # the least exposure of its black
    for off in (0.049, 2.051):
        with pytest.raises(ValueError, match=r"off this paper's curve, read from 0\.05 to 2\.05"):
            CURVE.exposure_for(off)


def test_white_and_black_read_by_themselves_end_the_line() -> None:
    short = PaperCurve((0.0, 0.3, 0.6), (0.08, 0.9, 1.9), 0.05, 2.05)
    assert short.density_at(-0.6) == 0.05 and short.density_at(-9) == 0.05
    assert short.density_at(1.2) == 2.05 and short.density_at(9) == 2.05
    assert 0.05 < short.density_at(-0.3) < 0.08 and 1.9 < short.density_at(0.9) < 2.05
    assert short.slope_at(-0.61) == 0 and short.slope_at(1.21) == 0
    assert short.density_at(-0.59) > 0.05 and short.density_at(1.19) < 2.05
    with pytest.raises(ValueError, match=r"read from 0\.08 to 1\.90"):
        short.exposure_for(2.0)
    with pytest.raises(ValueError, match="off this paper's curve"):
        short.exposure_for(0.06)


def test_moved() -> None:
    moved = CURVE.moved(0.5)
    assert moved.density_at(1.7) == pytest.approx(CURVE.density_at(1.2))
    assert (moved.base, moved.darkest, moved.density) == (CURVE.base, CURVE.darkest, CURVE.density)
    assert iso_points(moved).speed == pytest.approx(iso_points(CURVE).speed + 0.5)
    assert iso_points(moved).r == pytest.approx(iso_points(CURVE).r)


@pytest.mark.parametrize(
    ("x", "d", "base", "darkest", "says"),
    [
        ((0.0,), (0.1,), 0.1, 0.1, "2 to 400"),
        ((0.0, 1.0), (0.1, 1.0, 2.0), 0.1, 2.0, "here are 2 and 3"),
        ((0.0, 1.0, 2.0), (0.1, 1.0), 0.1, 1.0, "here are 3 and 2"),
        (tuple(n / 100 for n in range(401)), tuple(n / 200 for n in range(401)), 0.0, 2.0, "here are 401"),
        ((0.0, 0.0), (0.1, 1.0), 0.1, 1.0, "must rise"),
        ((1.0, 0.0), (0.1, 1.0), 0.1, 1.0, "must rise"),
        ((0.0, 0.0014), (0.1, 1.0), 0.1, 1.0, "must rise"),
        ((0.0, math.inf), (0.1, 1.0), 0.1, 1.0, "must rise"),
        ((0.0, math.nan), (0.1, 1.0), 0.1, 1.0, "must rise"),
        ((-11.0, 0.0), (0.1, 1.0), 0.1, 1.0, "must rise"),
        ((-10.0, 0.0), (0.1, 1.0), 0.1, 1.0, "must rise"),
        ((0.0, 10.0), (0.1, 1.0), 0.1, 1.0, "must rise"),
        ((0.0, 1.0), (1.0, 0.1), 0.1, 1.0, "must not fall"),
        ((0.0, 1.0), (0.1, math.nan), 0.1, 1.0, "must not fall"),
        ((0.0, 1.0), (0.1, 1.0), 0.11, 1.0, "must not fall"),
        ((0.0, 1.0), (0.1, 1.0), -0.01, 1.0, "must not fall"),
        ((0.0, 1.0), (0.1, 1.0), 0.1, 0.99, "must not fall"),
        ((0.0, 1.0, 2.0), (0.1, 0.5, 2.0), 0.1, 1.5, "must not fall"),
        ((0.0, 1.0), (0.1, 1.0), 0.1, 5.01, "must not fall"),
        ((0.0, 1.0), (0.1, 0.59), 0.1, 0.59, r"less than 0\.5"),
    ],
)
def test_numbers_that_are_no_curve(
    x: tuple[float, ...], d: tuple[float, ...], base: float, darkest: float, says: str
) -> None:
    with pytest.raises(ValueError, match=says):
        PaperCurve(x, d, base, darkest)


def test_numbers_that_just_are_one() -> None:
    assert PaperCurve((0.0, 0.0015), (0.0, 0.5), 0.0, 0.5).density_at(1) == 0.5
    assert PaperCurve((0.0, 1.0), (0.1, 1.0), 0.0, 5.0).darkest == 5
    assert PaperCurve((-9.9, 9.9), (0.1, 1.0), 0.1, 1.0).density_at(0) == pytest.approx(0.55)
    assert PaperCurve(tuple(n / 100 for n in range(400)), tuple(n / 200 for n in range(400)), 0.0, 2.0).base == 0


# ── the fit ──────────────────────────────────────────────────────────────────


@given(st.lists(st.tuples(st.floats(0, 2), st.integers(1, 4)), min_size=1, max_size=30))
def test_what_falls_is_put_right_as_scipy_does(values: list[tuple[float, int]]) -> None:
    densities, weights = [v for v, _ in values], [w for _, w in values]
    assert craft._never_falling(densities, weights) == pytest.approx(
        isotonic_regression(densities, weights=weights).x.tolist(), abs=1e-9
    )


def test_readings_of_one_exposure_are_their_mean() -> None:
    assert craft._merged([(0.0, 1.0), (0.002, 2.0), (0.0029, 3.0), (0.0031, 9.0)]) == [(0.0, 2.0, 3), (0.0031, 9.0, 1)]
    twice = fit([*zip(X, D, strict=True), *((x, d + 0.02) for x, d in zip(X, D, strict=True))])
    assert twice.density == pytest.approx([d + 0.01 for d in D]) and twice.log_exposure == X


def test_order_is_of_no_account() -> None:
    points = list(zip(X, D, strict=True))
    assert fit(points[::-1]) == fit(points) == CURVE


def test_a_little_fall_is_noise_a_larger_one_is_not() -> None:
    a_little = [0.05, 0.05, 0.08, 0.25, 0.80, 1.50, 1.95, 2.05, 2.00]
    assert fit(list(zip(X, a_little, strict=True))).density[-2:] == pytest.approx((2.025, 2.025))
    with pytest.raises(ValueError, match=r"less density, 1\.94 after 2\.05: are the patches in their order"):
        fit(list(zip(X, [*D[:-1], 1.94], strict=True)))
    with pytest.raises(ValueError, match=r"1\.36 after 1\.50"):  # after the greatest, not after the one before
        fit(list(zip(X, [0.05, 0.05, 0.3, 0.8, 1.50, 1.45, 1.36, 2.0, 2.0], strict=True)))


def test_too_few_readings() -> None:
    assert fit(list(zip((0, 1, 2, 3, 4), (0.05, 0.05, 1, 2, 2), strict=True))).darkest == 2
    with pytest.raises(ValueError, match="5 different exposures or more; here are 4"):
        fit(list(zip((0, 1, 2, 3, 3.001), (0.05, 0.05, 2, 2, 2), strict=True)))
    with pytest.raises(ValueError, match="here are 0"):
        fit([])


def test_readings_without_contrast() -> None:
    with pytest.raises(ValueError, match="differ by less"):
        fit([(x, 0.1 + x / 10) for x in X])


def test_white_and_black_that_cannot_be() -> None:
    points = list(zip(X, D, strict=True))
    with pytest.raises(ValueError, match=r"base of 0\.16 is darker than the lightest patch, 0\.05"):
        fit(points, base=0.16)
    with pytest.raises(ValueError, match=r"black of 1\.94 is lighter than the darkest patch, 2\.05"):
        fit(points, darkest=1.94)
    still_rising = [*points[:-1], (X[-1], 2.10)]  # the last patch counts, not the one before
    with pytest.raises(ValueError, match=r"black of 1\.99 is lighter than the darkest patch, 2\.10"):
        fit(still_rising, darkest=1.99)
    rises_at_once = list(zip(X, (0.05, 0.3, 0.8, 1.5, 1.8, 2.0, 2.05, 2.05, 2.05), strict=True))
    with pytest.raises(ValueError, match=r"base of 0\.20 is darker than the lightest patch, 0\.05"):
        fit(rises_at_once, base=0.20)
    # a little off is noise: the patch was as light, or as dark
    assert (fit(points, base=0.10).base, fit(points, darkest=2.0).darkest) == (0.05, 2.05)
    assert (fit(points, base=0.04).base, fit(points, darkest=2.10).darkest) == (0.04, 2.10)
    assert fit([(x, d - 0.05) for x, d in points], base=0.0).base == 0
    assert fit([(x, d - 0.05) for x, d in points], base=-0.01).base == 0  # zeroed on a paper a little darker


def test_an_end_that_is_not_reached() -> None:
    points = drawn(110, 200)
    fit(points)
    with pytest.raises(CurveShort, match="do not reach the light end") as light:
        fit([point for point in points if point[1] > 0.15])
    assert list(light.value.stops) == ["light"] and 2 <= light.value.stops["light"] <= 4
    with pytest.raises(CurveShort, match="do not reach the dark end") as dark:
        fit([point for point in points if point[1] < 1.9])
    assert list(dark.value.stops) == ["dark"] and 2 <= dark.value.stops["dark"] <= 4
    with pytest.raises(CurveShort, match="light and the dark end") as both:
        fit([point for point in points if 0.15 < point[1] < 1.9])
    assert list(both.value.stops) == ["light", "dark"]


@given(st.floats(50, 170), st.floats(0.1, 0.3), st.sampled_from(["light", "dark"]), st.floats(0.12, 0.5))
def test_the_strip_that_is_said_to_be_missing_is_enough(r: float, step: float, end: str, cut: float) -> None:
    """As a printer would: add what was asked for; asked twice more at the most, it is a curve."""
    points = drawn(r, 200, step=step, beyond=2.5)
    inside = [p for p in points if (p[1] > cut if end == "light" else p[1] < 2.1 - cut)]
    low, high = (inside[0][0], points[-1][0]) if end == "light" else (points[0][0], inside[-1][0])
    for _ in range(4):
        try:
            fit([p for p in points if low <= p[0] <= high])
            return
        except CurveShort as short:
            assert list(short.stops) == [end]
            more = short.stops[end] * craft.STOP  # type: ignore[index]
            low, high = (low - more, high) if end == "light" else (low, high + more)
        except ValueError:  # too little is left to be a curve at all
            assume(False)
    raise AssertionError("asked for more and more")


def test_how_far_beyond_is_enough() -> None:
    # a line of 1 density a log unit between flats: highlight 0.04 above 0.0, shadow 1.80 of 2.0
    def ends(before: float, after: float) -> list[tuple[float, float]]:
        line = [(n / 10, n / 10) for n in range(21)]
        return [(-before, 0.0), *line, (2.0 + after, 2.0)]

    low, high = (curve := fit(ends(0.9, 0.9))).exposure_for(0.04), curve.exposure_for(1.8)
    needs = craft.BEYOND * (high - low)
    fit(ends(needs - low + 0.01, needs - (2.0 - high) + 0.01))
    with pytest.raises(CurveShort) as light:
        fit(ends(needs - low - 0.02, 0.9))
    assert light.value.stops == {"light": 2}  # a little is missing: a stop, and one more to be sure
    with pytest.raises(CurveShort) as dark:
        fit(ends(0.9, needs - (2.0 - high) - 0.02))
    assert dark.value.stops == {"dark": 2}
    with pytest.raises(CurveShort) as light:
        fit(ends(needs - low - 0.4, 0.9))
    assert light.value.stops == {"light": 3}  # 0.4 is a third more than a stop: two, and one more
    with pytest.raises(CurveShort) as dark:
        fit(ends(0.9, needs - (2.0 - high) - 0.315))
    assert dark.value.stops == {"dark": 3}


def test_what_is_missing_is_counted_from_the_last_that_was_read() -> None:
    """Half a density a log unit from white to black, 0.5 to 4.5 in exposure: of 1.8 of shadow no more was read than 1.7."""
    line = [(n / 2, max(0.0, min(2.0, (n - 1) / 4))) for n in range(9)]
    assert line[0] == (0.0, 0.0) and line[-1] == (4.0, 1.75)
    curve = PaperCurve(tuple(x for x, _ in line), tuple(d for _, d in line), 0.0, 2.0)
    low = curve.exposure_for(0.04)
    # up to 4.0, 0.3 (4.0 - low) must lie before low, and low does; and the dark end, which was read by itself, is a stop away
    with pytest.raises(CurveShort) as found:
        fit(line, darkest=2.0)
    misses = 0.3 * (4.0 - low) - low
    assert 0.3 < misses < 0.6 and found.value.stops == {"light": 3, "dark": 2}
    # and the other way about: from 0.25, white read by itself, to a black that goes on for just too short
    line = [(n / 2, min(2.0, (n + 1) / 4)) for n in range(9)]
    high = PaperCurve(tuple(x for x, _ in line), tuple(d for _, d in line), 0.0, 2.0).exposure_for(1.8)
    assert 0 < 0.3 * (high - 0) - (4.0 - high) < 0.1
    with pytest.raises(CurveShort) as found:
        fit(line, base=0.0)
    assert found.value.stops == {"light": 2, "dark": 2}


def test_the_highlight_may_lie_before_the_second_reading() -> None:
    """0.04 at some 0.7: more than 0.3 of the 0.9 from there to 1.8, at 1.6, have been read before it."""
    x, d = (0.0, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.4), (0.0, 0.05, 0.3, 0.8, 1.4, 1.8, 2.0, 2.0)
    points = list(zip(x, d, strict=True))
    assert 0.6 < fit(points).exposure_for(0.04) < 0.8
    assert fit(points, base=0.0) == fit(points)


def test_the_shadow_may_lie_after_the_last_but_one() -> None:
    """1.8 at some 1.7, between 1.75 and 2.0: more than 0.3 of the way to it from 0.04 have been read after it."""
    x, d = (0.0, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 2.6), (0.0, 0.0, 0.2, 0.6, 1.2, 1.7, 1.75, 2.0)
    points = list(zip(x, d, strict=True))
    assert 1.6 < fit(points).exposure_for(1.8) < 2.0
    assert fit(points, darkest=2.0) == fit(points)


def test_with_white_and_black_read_a_strip_may_be_shorter() -> None:
    points = drawn(110, 200)
    inside = [point for point in points if 0.07 < point[1] < 2.0]
    with pytest.raises(CurveShort):
        fit(inside)
    found = iso_points(fit(inside, base=0.06, darkest=2.10))
    assert found.r == pytest.approx(110, abs=2)
    with pytest.raises(CurveShort) as light:  # not even the highlight is among them
        fit([point for point in points if point[1] > 0.15], base=0.06, darkest=2.10)
    assert light.value.stops == {"light": 2}
    with pytest.raises(CurveShort) as dark:
        fit([point for point in points if point[1] < 1.85], base=0.06, darkest=2.10)
    assert dark.value.stops == {"dark": 2}


# ── R and P ──────────────────────────────────────────────────────────────────


@given(st.floats(40, 180), st.floats(50, 800), st.booleans())
def test_r_and_p_of_a_drawn_curve(r: float, p: float, net: bool) -> None:
    # the curve's R and P are exact by the definitions (tests/bench/test_paper.py); readings every 0.02
    found = iso_points(fit(drawn(r, p, step=0.02, beyond=1.5, net=net)), net=net)
    assert found.r == pytest.approx(r, rel=0.004) and found.p == pytest.approx(p, rel=0.002)


@given(st.floats(60, 180), st.floats(50, 800))
def test_r_and_p_from_half_stops_just_far_enough(r: float, p: float) -> None:
    found = iso_points(fit(drawn(r, p, step=0.15, beyond=craft.BEYOND + 0.06)))
    assert found.r == pytest.approx(r, rel=0.06) and found.p == pytest.approx(p, rel=0.03)


@given(st.floats(40, 180), st.floats(50, 800), st.booleans())
def test_r_and_p_by_scipy_alone(r: float, p: float, net: bool) -> None:
    # ISO 6846's definitions once more, on the same readings, by PchipInterpolator and brentq
    points = drawn(r, p)
    x, d = np.asarray(points).T
    scipys = PchipInterpolator(x, d)

    def at(density: float) -> float:
        return float(brentq(lambda one: float(scipys(one)) - density, x[0], x[-1], xtol=1e-12))

    base, most = d[0], d[-1]
    shadow = base + 0.9 * (most - base) if net else 0.9 * most
    found = iso_points(fit(points), net=net)
    assert found.r == pytest.approx(100 * (at(shadow) - at(base + 0.04)), abs=1e-3)
    assert found.p == pytest.approx(1000 / 10 ** at(base + 0.6), rel=1e-5)


def test_points_by_hand() -> None:
    # density is log exposure, from base 0 to 2: highlight at 0.04, speed at 0.6, shadow at 1.8
    line = PaperCurve((0.0, 1.0, 2.0), (0.0, 1.0, 2.0), 0.0, 2.0)
    found = iso_points(line)
    assert (found.highlight, found.speed, found.shadow) == pytest.approx((0.04, 0.6, 1.8))
    assert iso_points(line).r == pytest.approx(176) and iso_points(line).p == pytest.approx(1000 / 10**0.6)
    raised = PaperCurve((0.0, 1.0, 2.0), (0.1, 1.1, 2.1), 0.1, 2.1)  # 90 % of 2.1 is 1.89; net, 0.1 + 1.8
    assert iso_points(raised).shadow == pytest.approx(1.79) and iso_points(raised, net=True).shadow == pytest.approx(1.8)
    assert iso_points(raised).highlight == pytest.approx(0.04) and iso_points(raised).speed == pytest.approx(0.6)
    with pytest.raises(ValueError, match="off this paper's curve"):
        iso_points(PaperCurve((0.0, 1.0), (0.0, 0.55), 0.0, 0.55))  # has no density of 0.6


def test_errors_by_hand() -> None:
    line = PaperCurve((0.0, 1.0, 2.0), (0.0, 1.0, 2.0), 0.0, 2.0)  # slope 1: a density is a log exposure
    r, p = errors(line, iso_points(line), 0.01)
    assert r == pytest.approx(100 * 0.01 * math.sqrt(2 + 1 + 0.81)) and p == pytest.approx(0.01 * math.sqrt(2))
    twice = PaperCurve((0.0, 0.5, 1.0), (0.0, 1.0, 2.0), 0.0, 2.0)
    assert errors(twice, iso_points(twice), 0.01) == pytest.approx((r / 2, p / 2))
    assert errors(line, iso_points(line), 0.03) == pytest.approx((3 * r, 3 * p))
    flat = errors(line, IsoPoints(-1, -1, 3), 0.01)  # a slope of 0 counts as 0.05
    assert flat == pytest.approx((20 * r, 20 * p))
    # slopes 0 (counts as 0.05), 0.75 and 2 at 0, 1 and 2, as in test_by_hand: each point has its own
    bent = PaperCurve((0.0, 1.0, 2.0), (0.0, 0.5, 2.0), 0.0, 2.0)
    for at, highlight, speed, shadow in (((0, 1, 2), 0.05, 0.75, 2), ((1, 2, 0), 0.75, 2, 0.05), ((2, 0, 1), 2, 0.05, 0.75)):
        r, p = errors(bent, IsoPoints(*at), 0.01)
        assert r == pytest.approx(math.hypot(math.sqrt(2) / highlight, math.sqrt(1.81) / shadow))
        assert p == pytest.approx(0.01 * math.sqrt(2) / speed)


@given(st.integers(0, 50))
def test_the_errors_are_about_what_noise_does(seed: int) -> None:
    points = drawn(110, 200, step=0.15, beyond=0.9)
    random = np.random.default_rng(seed)
    found = []
    for _ in range(20):
        noisy = [(x, max(0.0, d + float(random.normal(0, 0.01)))) for x, d in points]
        found.append(iso_points(fit(noisy, base=0.06, darkest=2.10)).r)
    said = errors(fit(points), iso_points(fit(points)), 0.01)[0]
    assert 0.2 * said < float(np.std(found)) < 2 * said


@pytest.mark.parametrize(("r", "rounded"), [(104.9, 100), (105, 110), (114.99, 110), (132, 130), (45, 50), (0, 0)])
def test_r_is_in_tens(r: float, rounded: int) -> None:
    # 1.32 log units given as R130: grainmag.com, contrast grades; the rule from memory
    assert rounded_r(r) == rounded


@pytest.mark.parametrize(
    ("p", "rounded"),
    [
        (100, 100), (111, 100), (112, 125), (141, 125), (142, 160), (199, 200), (224, 250), (950, 1000), (893, 800),
        (895, 1000), (1000, 1000), (400, 400), (500, 500), (440, 400), (460, 500), (0.99, 1), (9.9, 10), (6.3, 6.4), (320, 320), (640, 640),
    ],
)  # fmt: skip
def test_p_is_in_thirds_of_a_stop(p: float, rounded: float) -> None:
    assert rounded_p(p) == pytest.approx(rounded)


def test_p_of_nothing() -> None:
    for wrong in (0, -1, math.inf, float("inf"), math.nan):
        with pytest.raises(ValueError, match="more than 0"):
            rounded_p(wrong)
