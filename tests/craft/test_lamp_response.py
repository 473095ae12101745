import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import lambertw

from timer.craft.lamp_response import INSTANT, LampResponse, full_light, on_time

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
