"""Three layers under one lamp-on time, by closed forms: a layer without a rise loses its delay once a burst."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.lamp_response import LampResponse
from timer.craft.layers import CC_A_STOP, TYPICAL, shift_cc, shift_from_long, shifts

QUICK, SLOW = LampResponse(0.0, 0.0), LampResponse(0.1, 0.0)
bursts = st.lists(st.floats(0.3, 5), min_size=1, max_size=8)


@given(bursts)
def test_each_burst_costs_a_slow_layer_its_delay(seconds: list[float]) -> None:
    """Timed by the quick layer; the pack was found with one exposure, which costs it once."""
    quick, slow = shifts(seconds, QUICK, (QUICK, SLOW))
    whole = sum(seconds)
    assert quick == pytest.approx(0, abs=1e-9)
    assert slow == pytest.approx(math.log2((whole - 0.1 * len(seconds)) / (whole - 0.1)), abs=1e-9)


@given(bursts)
def test_the_layer_that_is_timed_by_is_right_always(seconds: list[float]) -> None:
    assert shifts(seconds, TYPICAL[1], TYPICAL)[1] == pytest.approx(0, abs=1e-6)


@given(st.floats(0.5, 20), st.floats(0, 60))
def test_one_burst_is_one_exposure(seconds: float, rested: float) -> None:
    assert shifts([seconds], TYPICAL[1], TYPICAL, rested) == pytest.approx((0, 0, 0), abs=1e-9)


def test_only_a_burst_after_another_is_warm() -> None:
    """Begun 0 s after the one before, each but the first is spared its delay; long after, none is."""
    warm = LampResponse(0.2, 0.0, 0.2, 10.0)
    soon = shifts([1.0, 1.0, 1.0], QUICK, (warm,), 0.0)[0]
    late = shifts([1.0, 1.0, 1.0], QUICK, (warm,), 1e9)[0]
    assert late == pytest.approx(math.log2((3 - 3 * 0.2) / (3 - 0.2)), abs=1e-6)
    assert soon > late + 0.1
    assert soon <= math.log2(3 / (3 - 0.2)) + 1e-9
    assert shifts([1.0, 1.0, 1.0], QUICK, (warm,)) == pytest.approx((late,), abs=1e-6)  # nothing said: cold each time


def test_light_that_never_comes_is_a_number_all_the_same() -> None:
    dark = shifts([0.05, 0.05], QUICK, (QUICK, LampResponse(0.06, 0.0)))
    assert dark == pytest.approx((0.0, math.log2(1e-9 / 0.04)))
    assert shifts([0.02, 0.02], QUICK, (LampResponse(0.06, 0.0),)) == (0.0,)  # neither as bursts nor as one
    assert shift_from_long(0.05, QUICK, (QUICK, LampResponse(0.06, 0.0))) == pytest.approx(
        (math.log2(9.94 / 10) - math.log2(1e-9 / 0.05)) * CC_A_STOP
    )


@given(st.floats(0.3, 60))
def test_a_short_exposure_beside_one_of_ten_seconds(seconds: float) -> None:
    """The slow layer has (t - 0.1) / t of the light, beside 9.9 / 10 of it."""
    apart = abs(math.log2((seconds - 0.1) / seconds / 0.99))
    assert shift_from_long(seconds, QUICK, (QUICK, SLOW)) == pytest.approx(apart * CC_A_STOP, abs=1e-6)


def test_ten_seconds_are_beside_themselves() -> None:
    assert shift_from_long(10.0, TYPICAL[1], TYPICAL) == pytest.approx(0, abs=1e-9)


def test_cc_of_stops() -> None:
    assert pytest.approx(30.103, abs=1e-3) == CC_A_STOP  # log10 2, and a density of 1 is 100 CC
    assert shift_cc([0.0, 1.0, 0.5]) == pytest.approx(30.103, abs=1e-3)
    assert shift_cc([-0.2, 0.1, 0.0]) == pytest.approx(0.3 * 30.103, abs=1e-3)
    assert shift_cc([0.4, 0.4, 0.4]) == 0


def test_blue_is_last_and_loses_most() -> None:
    """A warming filament is red first (Planck). The numbers are the bench's halogen: tests/bench/test_lamps.py."""
    assert TYPICAL[0].delay < TYPICAL[1].delay < TYPICAL[2].delay
    assert all(0 < layer.delay < 0.1 and 0 < layer.rise < 0.11 for layer in TYPICAL)
    red, green, blue = shifts([0.5] * 8, TYPICAL[1], TYPICAL)
    assert red > green > blue
