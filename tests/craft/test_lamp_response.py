import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import lambertw

from timer.craft.lamp_response import (
    INSTANT,
    SOONEST_S,
    LampResponse,
    Order,
    full_light,
    on_time,
    order,
    shape,
    shortening,
)


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


# ── by hand, rule by rule ────────────────────────────────────────────────────

LAMP = LampResponse(0.06, 0.1, 0.24, 2.0)


@pytest.mark.parametrize(
    "numbers",
    [(9.99, 9.99), (-0.99, 0), (0, 0), (5, 5, 0.99, 30), (0.1, 0.1, 0.2 / shape(0.1), 2), (5, 5, 0.1, 0.001)],
)
def test_what_a_lamp_may_have(numbers: tuple[float, ...]) -> None:
    assert LampResponse(*numbers).rise == numbers[1]


@pytest.mark.parametrize("numbers", [(0.1, -0.001), (0.1, 10), (0.1, 11), (-1, 0.1), (-1.5, 0.1), (10, 0), (11, 0), (0, 10)])
def test_delay_and_rise_have_ends(numbers: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="delay and rise are seconds, each below 10"):
        LampResponse(*numbers)


@pytest.mark.parametrize("pair", [(1.0, 30), (-0.1, 0), (-0.1, 2), (0.1, 30.001), (0, 2), (0.1, 0), (0, -0.5), (0.1, -2)])
def test_less_and_recovery_have_ends_and_come_together(pair: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="a lamp's recovery is two numbers"):
        LampResponse(5, 5, *pair)


def test_a_lamp_cannot_be_spared_more_than_it_loses() -> None:
    # shape(0.1) = exp(-0.1) / sqrt(7.4) = 0.33263; of 240 ms that is 80 ms
    with pytest.raises(ValueError, match="too much") as told:
        LampResponse(0.02, 0.02, 0.24, 2)
    assert str(told.value) == (
        "after 0.2 s of rest this lamp would lose 80 ms less, of the 40 ms that it loses cold; less is too much"
    )


def test_no_light_of_no_time() -> None:
    early = LampResponse(-0.5, 0.1)
    assert [full_light(seconds, early) for seconds in (0, -0.1, -2)] == [0, 0, 0]
    assert [on_time(seconds, LAMP) for seconds in (0, -1)] == [0, 0]
    assert [full_light(seconds, LampResponse(0.1, 0.1)) for seconds in (0.05, 0.1)] == [0, 0]  # within its delay
    assert shortening(LampResponse(0.1, 0.1), 2.0) == 0


def test_a_lamp_without_rise_has_its_delay_alone() -> None:
    assert on_time(2, LampResponse(0.1, 0)) == pytest.approx(2.1)
    assert full_light(2.1, LampResponse(0.1, 0)) == pytest.approx(2)
    assert full_light(1, LampResponse(-0.05, 0)) == pytest.approx(1.05)


def test_a_warm_lamp_gives_no_more_than_its_time() -> None:
    # spared 0.2 s of the 0.2 s it loses: u = 0.1 + 0.2 - 0.1, and 0.2 - 0.1 (1 - e^-2) would be 0.1135 s
    full = LampResponse(0.1, 0.1, 0.2 / shape(0.1), 2)
    assert full_light(0.1, full, 0.0) == 0.1
    assert full_light(0.1, LampResponse(0.1, 0.1), 0.0) == 0


def test_orders_by_hand() -> None:
    assert order(2, LampResponse(0.1, 0)) == Order(2_100_000, 0, 0)
    assert order(8, LAMP) == Order(8_160_000, 240_000, 2_000_000)  # of 8 s all of the rise is over
    short = order(0.01, LAMP)  # cold 108 ms, which is less than 240: a keeper wants less below all
    assert short.less_us == short.on_us - 1


def test_an_order_is_spared_no_more_than_the_cold_lamp_loses() -> None:
    """0.1 s of a lamp that is slow to cool: u - 0.1 (1 - e^-10u) = 0.1 at u = 0.18414, and 144.14 ms over 0.83165."""
    slow = LampResponse(0.06, 0.1, 0.19, 30)
    assert order(0.1, slow).less_us == pytest.approx(144_140 / (math.exp(-0.2 / 30) / math.sqrt(1 + 12.8 / 30)), abs=30)
    # a light that an early lamp gives in less than its own length is spared nothing
    assert order(0.002, LampResponse(-0.02, 0.1, 0.05, 2)).less_us == 0
