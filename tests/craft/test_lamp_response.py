import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import lambertw

from timer.craft.lamp_response import INSTANT, SOONEST_S, LampResponse, full_light, on_time, order, shape, shortening


def warm_lamp(delay: float, rise: float, share: float, recovery: float) -> LampResponse:
    """``share`` is less, over the most that the lag allows."""
    return LampResponse(delay, rise, min(0.99, share * (delay + rise) / shape(SOONEST_S / recovery)), recovery)


responses = st.builds(LampResponse, st.floats(0, 0.5), st.floats(0.001, 1))


@given(st.floats(0.01, 300), responses)
def test_there_and_back(seconds: float, response: LampResponse) -> None:
    assert full_light(on_time(seconds, response), response) == pytest.approx(seconds, abs=1e-9)


@given(st.floats(0.01, 300), responses)
def test_newton_against_scipy_lambert_w(seconds: float, response: LampResponse) -> None:
    # closed form with scipy.special.lambertw: u = D + tau + tau W(-exp(-(D + tau) / tau))
    c = (seconds + response.rise) / response.rise
    u = response.rise * (c + lambertw(-math.exp(-c)).real)
    assert on_time(seconds, response) == pytest.approx(u + response.delay, abs=1e-9)


def test_an_instant_lamp_changes_nothing() -> None:
    assert on_time(8, INSTANT) == full_light(8, INSTANT) == 8
    assert on_time(0, LampResponse(0.1, 0.1)) == full_light(0, LampResponse(0.1, 0.1)) == 0


def test_eight_short_bursts_equal_one_long() -> None:
    lamp = LampResponse(0.060, 0.098)
    assert 8 * full_light(on_time(1, lamp), lamp) == pytest.approx(full_light(on_time(8, lamp), lamp))
    assert 8 * full_light(1, lamp) < 0.9 * full_light(8, lamp)


warm = st.builds(warm_lamp, st.floats(0, 0.3), st.floats(0.001, 0.5), st.floats(0.01, 1), st.floats(0.1, 30))
rests = st.one_of(st.floats(0, 600), st.just(math.inf))


@given(st.floats(0.01, 300), warm, rests)
def test_there_and_back_from_warm(seconds: float, response: LampResponse, rested: float) -> None:
    given = on_time(seconds, response, rested)
    assert full_light(given, response, rested) == pytest.approx(seconds, abs=1e-8)
    assert min(seconds, on_time(seconds, response)) <= given + 1e-12
    assert given <= on_time(seconds, response)


@given(st.floats(0.01, 300), warm, st.floats(0.001, 60), st.floats(0.001, 60))
def test_the_longer_it_rests_the_colder_it_is(seconds: float, response: LampResponse, rested: float, more: float) -> None:
    assert on_time(seconds, response, rested) <= on_time(seconds, response, rested + more) + 1e-12
    assert on_time(seconds, response, 1e9) == on_time(seconds, response)


@given(st.floats(0.001, 300), warm, st.floats(0, 600))
def test_a_keeper_does_the_same_with_its_three_numbers(seconds: float, response: LampResponse, rested: float) -> None:
    sent = order(seconds, response)
    # as a keeper does it: nothing but these numbers, and the rest that it knows at the press
    x = max(rested, SOONEST_S) * 1e6 / sent.recovery_us if sent.recovery_us else math.inf
    kept = sent.on_us - (sent.less_us * math.exp(-x) / math.sqrt(1 + 64 * x) if sent.less_us else 0)
    assert 0 <= sent.less_us < sent.on_us
    assert kept >= min(seconds * 1e6, sent.on_us) - 2
    if sent.less_us == int(response.less * 1e6):  # for the shortest lights it is cut down to what a keeper takes
        assert kept == pytest.approx(on_time(seconds, response, rested) * 1e6, abs=3)


def test_warmth_by_hand() -> None:
    lamp = LampResponse(0.06, 0.1, 0.24, 2.0)
    # x = 1: exp(-1) / sqrt(65) = 0.045630, of 240 ms
    assert shortening(lamp, 2.0) == pytest.approx(0.24 * 0.045630, abs=1e-6)
    assert on_time(1.0, lamp) - on_time(1.0, lamp, 2.0) == pytest.approx(0.010951, abs=1e-6)


@pytest.mark.parametrize("numbers", [(0.1, 0.1, 0.2, 0), (0.1, 0.1, 0, 2), (0.1, 0.1, 0.2, 31), (0.02, 0.02, 0.24, 2)])
def test_what_no_lamp_has(numbers: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match=r"recovery|less is too much"):
        LampResponse(*numbers)
