"""A lamp's response from prints and from doses: known lamps found again, and every limit by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.special import lambertw

from timer.craft.lamp_calibrate import (
    _flattest,
    deficit_from_prints,
    error_of_prints,
    fit,
    lambert_w,
    response_from_deficit,
    response_from_doses,
    response_from_prints,
    rise_range,
    shorter_from_prints,
    stops_of_error,
    with_recovery,
)
from timer.craft.lamp_response import LampResponse, full_light, shape, shortening
from timer.plans.lamp_calibration import long_exposure

COLD = LampResponse(0.06, 0.1)


def test_prints_that_match() -> None:
    """Eight of 1 s that print as one of 6.88 s lost 1.12 s in the seven starts more."""
    assert deficit_from_prints(8, 1, 6.88) == pytest.approx(0.16)
    assert deficit_from_prints(2, 4, 7.8) == pytest.approx(0.2)
    assert deficit_from_prints(3, 2, 6) == 0
    assert deficit_from_prints(8, 0.1, 0.7) == pytest.approx(0.1 / 7)
    with pytest.raises(ValueError, match=r"the long one is at most 1\.5 s, since bursts lose light"):
        deficit_from_prints(3, 0.5, 1.6)
    for bursts, long in ((1, 0.9), (8, 0), (8, -1), (8, 8.01)):
        with pytest.raises(ValueError, match=rf"^{bursts} bursts of 1 s cannot match one of {long:g} s: the long one is at "
                           rf"most {bursts} s, since bursts lose light$"):  # fmt: skip
            deficit_from_prints(bursts, 1, long)
    whole = response_from_deficit(0.2)
    assert (whole.delay, whole.rise) == (pytest.approx(0.08), pytest.approx(0.12))


@pytest.mark.parametrize(("bursts", "seconds"), [(8, 0.5), (4, 1.0), (16, 0.5), (12, 2.0), (60, 60.0)])
@pytest.mark.parametrize("lag", [0.0, 0.02, 0.16, 0.25, 0.35])
def test_a_slow_lamp_by_prints(bursts: int, seconds: float, lag: float) -> None:
    """The lamp by whose own light the prints match. At 350 ms, 140 and 210, eight of half a second give 0.36 - 0.21 (1 -
    exp(-0.36 / 0.21)) = 0.187818 s each, one of 1.852 s as much as them: (4 - 1.852) / 7 would be 307 ms."""
    lamp = LampResponse(0.4 * lag, 0.6 * lag)
    wanted = bursts * full_light(seconds, lamp)
    long = wanted + lag
    for _ in range(40):
        long += wanted - full_light(long, lamp)
    if (bursts, seconds, lag) == (8, 0.5, 0.35):
        assert long == pytest.approx(1.852, abs=0.001)
    found = response_from_prints(bursts, seconds, long)
    assert (found.delay, found.rise) == (pytest.approx(lamp.delay, abs=1e-6), pytest.approx(lamp.rise, abs=1e-6))
    for shorter in (0.0, lag / 10, lag / 2):
        wanted = full_light(seconds, lamp) + (bursts - 1) * min(full_light(seconds + shorter, lamp), seconds)
        long = wanted + lag
        for _ in range(40):
            long += wanted - full_light(long, lamp)
        if lag:
            assert shorter_from_prints(lamp, bursts, seconds, long) == pytest.approx(shorter, abs=1e-6)


def test_prints_that_no_lamp_makes() -> None:
    """Eight bursts give more than one that is no longer than each of them."""
    for bursts, seconds, long in ((8, 0.5, 0.5), (8, 0.5, 0.3), (2, 60, 61)):
        with pytest.raises(ValueError, match=rf"^no lamp gives with {bursts} bursts of {seconds:g} s as little as with one"):
            response_from_prints(bursts, seconds, long)
    with pytest.raises(ValueError, match="bursts lose light"):
        response_from_prints(8, 0.5, 4.1)


def test_what_an_error_in_the_match_does() -> None:
    """The rung beside the right one of a sheet about 1 s, eight bursts of 0.5 s: 7 x 10 ms are 1.07 s in the place of 1 s,
    so 10 ms more are given at each start, and 0.51 s for 0.5 s are log2 1.02 = 0.028569 stop; coarse, by 50 ms,
    log2 1.1 = 0.137504."""
    assert error_of_prints(8, 1.0, math.log2(1.07)) == pytest.approx(0.010)
    assert error_of_prints(8, 1.0, -math.log2(1.07)) == pytest.approx(0.010)
    assert stops_of_error(0.010, 0.5) == pytest.approx(0.028569, abs=1e-6)
    assert stops_of_error(0.050, 0.5) == pytest.approx(0.137504, abs=1e-6)
    # 2.93 (2^(1/24) - 1) / 7 = 2.93 x 0.029302 / 7 = 0.0122650 s, and log2 1.02453 = 0.034963
    assert error_of_prints(8, 2.93, 1 / 24) == pytest.approx(0.012265, abs=1e-6)
    assert stops_of_error(error_of_prints(8, 2.93, 1 / 24), 0.5) == pytest.approx(0.034963, abs=1e-5)


@pytest.mark.parametrize(("lag", "off"), [(0.0, 1 / 24), (0.16, 1 / 24), (0.16, 0.2), (0.4, 0.1)])
def test_an_error_is_what_a_wrong_match_makes_of_the_loss(lag: float, off: float) -> None:
    """Two deficits, of the right long exposure and of the wrong one, are apart by it."""
    right = long_exposure(8, 0.5, lag)
    lost = lag - (8 * 0.5 - right * 2**off) / 7
    assert error_of_prints(8, right, off) == pytest.approx(lost)


def test_what_the_short_light_cannot_have_given() -> None:
    assert response_from_doses(0, 0.25, 0.2624) == response_from_doses(-0.1, 0.25, 0.006) == LampResponse()
    with pytest.raises(ValueError, match=r"^the short light gave 0\.263 s of full light in 0\.25 s of lamp-on time: is it"):
        response_from_doses(0.1, 0.25, 0.2627)
    with pytest.raises(ValueError, match=r"^in 0\.25 s this lamp gives next to no light; .* with 0\.5 s$"):
        response_from_doses(0.1, 0.25, 0.0049)
    with pytest.raises(ValueError, match="gives next to no light"):
        response_from_doses(0.1, 0.0, 0.0)
    assert response_from_doses(0.1, 0.25, 0.15) == LampResponse(0.1, 0.0)  # it lost all of it at once: no rise
    slow = LampResponse(0.5, 4.5)
    assert response_from_doses(slow.lag, 2, full_light(2, slow)).rise == pytest.approx(4.5)
    slower = LampResponse(0.5, 5.5)  # a rise of more than five seconds
    with pytest.raises(ValueError, match="do not fit one lamp"):
        response_from_doses(slower.lag, 2, full_light(2, slower))


def test_a_light_too_long_to_show_the_rise() -> None:
    """Of 60 and 100 ms, 3 s lose 160 ms less 100 exp(-29.4), which is the long one's loss."""
    lamp = LampResponse(0.06, 0.1)
    for short in (3.0, 0.7):
        with pytest.raises(ValueError, match=rf"^a light of {short:g} s is too long to show the rise, .* \(160 and 160 ms\); "
                           r"measure the short one with 0\.25 s$"):  # fmt: skip
            response_from_doses(lamp.lag, short, full_light(short, lamp))
    slow = LampResponse(0.15, 0.3)  # 300 exp(-3.5) = 9 ms less at 1.2 s, which is seen
    assert response_from_doses(slow.lag, 1.2, full_light(1.2, slow)).rise == pytest.approx(0.3)
    assert response_from_doses(0.001, 3.0, 2.999) == LampResponse(0.001, 0.0)  # instant: no rise to speak of


def test_the_range_of_a_rise() -> None:
    """60 and 100 ms lose at 0.25 s less than cold by e' = 100 exp(-1.9) = 14.957 ms. At e' 10 ms more and less, 24.957 and
    4.957, g = 90 ms: tau exp(-1 - g / tau) is that for tau of 139.1 and 61.6 ms."""
    lamp = LampResponse(0.06, 0.1)
    dose = full_light(0.25, lamp)
    least, most = rise_range(lamp.lag, 0.25, dose, 0.010)
    for tau, less in ((least, 0.004957), (most, 0.024957)):
        assert tau * math.exp(-1 - 0.09 / tau) == pytest.approx(less, abs=1e-6)
    assert rise_range(lamp.lag, 0.25, dose, 0.0) == pytest.approx((0.1, 0.1))
    assert rise_range(lamp.lag, 0.25, dose, 0.015)[0] == 0.0  # as good as none
    assert rise_range(lamp.lag, 0.25, dose, 0.1)[1] == lamp.lag
    slow = LampResponse(0.12, 0.15)  # more lag than the short light: below -1/e there is no light at all
    assert rise_range(slow.lag, 0.25, full_light(0.25, slow), 0.1)[0] == 0.0


@pytest.mark.parametrize("lamp", [LampResponse(0.15, 0.1), LampResponse(0.06, 0.1), LampResponse(0.15, 0.3)])
def test_a_short_light_as_long_as_the_lag_or_not(lamp: LampResponse) -> None:
    found = response_from_doses(lamp.lag, 0.25, full_light(0.25, lamp))
    assert (found.delay, found.rise) == (pytest.approx(lamp.delay, abs=1e-6), pytest.approx(lamp.rise, abs=1e-6))


@pytest.mark.parametrize("x", [-0.3678, -0.3, -1e-3, 0.0, 1e-3, 0.5, 1.0, math.e, 1e6])
def test_lambert_against_scipy(x: float) -> None:
    assert lambert_w(x) == pytest.approx(lambertw(x).real, rel=1e-9, abs=1e-12)


@given(st.floats(-1 / math.e + 1e-6, 0) | st.floats(0, 1e9))
def test_lambert_anywhere_against_scipy(x: float) -> None:
    assert lambert_w(x) == pytest.approx(lambertw(x).real, rel=1e-9, abs=1e-300)


@pytest.mark.parametrize("above", [1e-17, 1e-16, 1e-14, 1e-12, 1e-9])
def test_lambert_just_above_its_branch_point(above: float) -> None:
    """Where it is -1 + sqrt(2 e above), as the first terms of its series there have it."""
    x = max(-1 / math.e + above, math.nextafter(-1 / math.e, 0))
    assert lambert_w(x) == pytest.approx(-1 + math.sqrt(2 * math.e * above), abs=5e-8)


@pytest.mark.parametrize("x", [-1 / math.e, -0.4])
def test_no_lambert_below_its_branch_point(x: float) -> None:
    with pytest.raises(ValueError, match="above -1/e"):
        lambert_w(x)


# ── warm starts ──────────────────────────────────────────────────────────────

RESTS = (0.3, 0.5, 1.0, 2.0, 4.0, 8.0)


@pytest.mark.parametrize(("less", "recovery"), [(0.24, 2.0), (0.19, 30.0), (0.3, 0.5)])
def test_a_recovery_is_found_again(less: float, recovery: float) -> None:
    lamp = LampResponse(0.06, 0.1, less, recovery)
    found = with_recovery(COLD, RESTS, [shortening(lamp, rest) for rest in RESTS])
    assert (found.delay, found.rise) == (0.06, 0.1)
    assert found.recovery == pytest.approx(recovery, rel=0.012)  # a step of the search is 1.07 %
    assert found.less == pytest.approx(less, rel=0.02)
    assert [shortening(found, rest) for rest in RESTS] == pytest.approx([shortening(lamp, r) for r in RESTS], abs=0.0004)


def test_both_ends_of_the_search_are_in_it() -> None:
    slow = LampResponse(0.06, 0.1, 0.19, 30)
    assert with_recovery(COLD, RESTS, [shortening(slow, rest) for rest in RESTS]).recovery == pytest.approx(30, rel=1e-12)
    quick = LampResponse(0.3, 0.4, 0.9, 0.05)
    rests = (0.2, 0.21, 0.22)
    found = with_recovery(LampResponse(0.3, 0.4), rests, [shortening(quick, rest) for rest in rests])
    assert found.recovery == pytest.approx(0.05, rel=1e-12)


def test_the_largest_miss_is_the_least_there_is() -> None:
    """Readings that are off to and fro: no pair of numbers, tried one by one, misses them by less."""
    lamp = LampResponse(0.06, 0.1, 0.24, 2.0)
    read = [shortening(lamp, rest) + (0.002 if n % 2 else -0.003) for n, rest in enumerate(RESTS)]
    found = with_recovery(COLD, RESTS, read)
    worst = max(abs(shortening(found, rest) - value) for rest, value in zip(RESTS, read, strict=True))
    x = np.asarray(RESTS)[None] / np.geomspace(0.05, 30, 601)[:, None]
    shares = np.exp(-x) / np.sqrt(1 + 64 * x)
    tried = np.abs(np.linspace(0, 0.6, 1201)[:, None, None] * shares - np.asarray(read)).max(axis=2)
    assert worst <= tried.min() + 1e-6


def test_one_rest_takes_a_usual_share_of_the_lag() -> None:
    lamp = LampResponse(0.06, 0.1, 1.3 * 0.16, 2.0)
    found = with_recovery(COLD, [1.0], [shortening(lamp, 1.0)])
    assert found.less == pytest.approx(1.3 * 0.16)
    assert found.recovery == pytest.approx(2.0, rel=0.006)
    # of a lamp that is slow to begin it is below a second
    assert with_recovery(LampResponse(0.4, 0.5), [1.0], [0.03]).less == 0.999


@pytest.mark.parametrize(
    ("rests", "shorter"),
    [([], []), ([1.0], [0.1, 0.1]), ([1.0, 2.0], [0.1]), ([0.199], [0.1]), ([60.1], [0.0]), ([1, 61], [0.1, 0])],
)
def test_rests_that_are_none(rests: list[float], shorter: list[float]) -> None:
    with pytest.raises(ValueError, match=r"^a rest between two lights is 0\.2 to 60 s here$"):
        with_recovery(COLD, rests, shorter)


def test_nothing_to_recover_from() -> None:
    instant = LampResponse(0.0019)
    assert with_recovery(instant, [1.0], [0.5]) is instant
    assert with_recovery(COLD, [0.2, 60], [0.00049, -0.005]) is COLD
    assert with_recovery(COLD, [1.0], [0.00051]).less > 0
    assert with_recovery(LampResponse(0.0021), [1.0], [0.0011]).less > 0


def test_what_no_warm_start_saves_is_told_in_whole_milliseconds() -> None:
    slow = LampResponse(0.6, 1.0)
    with pytest.raises(ValueError, match=r"saves -1000 to 2000 ms does not fit a lamp that loses 1600 ms cold"):
        with_recovery(slow, [0.5, 4.0], [-1.0, 2.0])
    # after a minute a lamp that takes half of one to recover still saves e^-2 / sqrt(1 + 64 * 2) of 0.999 s: 12 ms
    with pytest.raises(ValueError, match=r"the best fit misses by 1588 ms"):
        with_recovery(slow, [60.0], [1.6])


def test_a_warm_start_that_costs_is_none() -> None:
    """10 ms more after the short rest, 1 less after the long one: less than nothing would fit, and no lamp has that."""
    with pytest.raises(ValueError, match=r"the best fit misses by 10 ms"):
        with_recovery(COLD, [0.3, 8.0], [-0.01, 0.001])


@given(st.lists(st.tuples(st.floats(0.01, 1), st.floats(-0.01, 0.2)), min_size=1, max_size=6))
def test_the_flattest_factor_as_scipys_linear_programme_has_it(rows: list[tuple[float, float]]) -> None:
    """The least d with k share - value <= d and value - k share <= d, for any k."""
    shares, values = np.asarray(rows).T
    ones = np.ones(len(rows))
    bounds = np.block([[shares[:, None], -ones[:, None]], [-shares[:, None], -ones[:, None]]])
    least = linprog([0, 1], bounds, np.concatenate([values, -values]), bounds=[(None, None), (0, None)]).fun
    factor = _flattest(shares.tolist(), values.tolist())
    assert np.abs(factor * shares - values).max() == pytest.approx(least, abs=1e-7)


def test_what_no_lamp_has_left_has_no_factor() -> None:
    assert _flattest([1e-5], [1e-6]) == pytest.approx(0.1)
    assert _flattest([0.0, 0.0], [0.001, 0.002]) == 0.0


@pytest.mark.parametrize(("shorter", "says"), [([0.05, -0.011], "-11 to 50"), ([0.163, 0.1], "100 to 163")])
def test_what_no_warm_start_saves(shorter: list[float], says: str) -> None:
    with pytest.raises(ValueError, match=rf"^a warm start that saves {says} ms does not fit a lamp that loses 160 ms cold"):
        with_recovery(COLD, [0.5, 4.0], shorter)


@pytest.mark.parametrize(("lag", "miss"), [(0.16, 0.008), (0.02, 0.004)])
def test_how_far_a_recovery_may_miss(lag: float, miss: float) -> None:
    """After 1 s no lamp saves more than one that takes 30 s: its less, lag / shape(0.2 / 30), by shape(1 / 30)."""
    cold = LampResponse(lag / 2, lag / 2)
    most = lag / shape(0.2 / 30) * shape(1 / 30)
    assert with_recovery(cold, [1.0], [most + 0.97 * miss]).recovery == pytest.approx(30)
    with pytest.raises(ValueError, match=rf"^no lamp recovers like that: the best fit misses by {1000 * miss:.0f} ms"):
        with_recovery(cold, [1.0], [most + 1.03 * miss])


def test_a_lamp_that_can_be_asked() -> None:
    lamp = LampResponse(0.06, 0.1, 0.24, 2.0)
    cold, gaps = list[float](), list[float]()

    def dose(on: float) -> float:
        cold.append(on)
        return full_light(on, lamp)

    def gap_dose(rest: float) -> float:
        gaps.append(rest)
        return full_light(2.0, lamp, rest)

    found = fit(dose, gap_dose)
    assert (cold, gaps) == ([8.0, 0.25], list(RESTS))
    assert (found.delay, found.rise) == (pytest.approx(0.06, abs=1e-6), pytest.approx(0.1, abs=1e-6))
    assert (found.less, found.recovery) == (pytest.approx(0.24, rel=0.02), pytest.approx(2.0, rel=0.012))
    alone = fit(dose)
    assert (alone.less, alone.recovery) == (0, 0)
    assert fit(lambda on: on, gap_dose) == LampResponse()
    assert fit(lambda on: on - 0.00009, gap_dose).less == 0
