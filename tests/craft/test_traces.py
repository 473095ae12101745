"""Traces of known lamps, with what a real sensor adds, read back."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft import traces
from timer.craft.lamp_calibrate import response_from_doses
from timer.craft.lamp_response import LampResponse, full_light


def recorded(
    lamp: LampResponse,
    on: float,
    *,
    scale: float = 700.0,
    dark: float = 0.0,
    noise: float = 0.0,
    before: float = 0.5,
    after: float = 2.0,
    step: float = 0.002,
) -> tuple[list[float], list[float]]:
    rng = random.Random(4)
    times = [n * step - before for n in range(round((before + on + after) / step))]
    light = [1 - math.exp(-(t - lamp.delay) / lamp.rise) if lamp.delay <= t <= on else 0.0 for t in times]
    return times, [scale * (value + dark) + rng.gauss(0, noise * scale) for value in light]


def found(lamp: LampResponse, long_on: float, short_on: float, **how: float) -> LampResponse:
    long, short = (traces.read(*recorded(lamp, on, **how)) for on in (long_on, short_on))
    full = traces.steady_light(long)
    return response_from_doses(long_on - traces.dose_of(long, full), short_on, traces.dose_of(short, full))


@pytest.mark.parametrize("dark", [0.0, 0.01, 0.2, -0.05])
@pytest.mark.parametrize("after", [1.0, 2.0, 40.0])
def test_a_dark_level_is_taken_off(dark: float, after: float) -> None:
    got = found(LampResponse(0.06, 0.1), 8.0, 0.25, dark=dark, after=after)
    assert (got.delay, got.rise) == (pytest.approx(0.06, abs=0.003), pytest.approx(0.1, abs=0.004))


@pytest.mark.parametrize("short_on", [0.25, 0.27, 0.3, 0.5])
def test_a_slow_lamp(short_on: float) -> None:
    # 120 and 150 ms: the short light is off before the lamp's whole lag is over, Lambert's W of a negative number
    got = found(LampResponse(0.12, 0.15), 8.0, short_on)
    assert (got.delay, got.rise) == (pytest.approx(0.12, abs=0.004), pytest.approx(0.15, abs=0.005))


@given(st.floats(0.0, 0.25), st.floats(0.02, 0.4), st.floats(0.15, 1.0))
def test_any_lamp_from_two_doses(delay: float, rise: float, short_on: float) -> None:
    lamp = LampResponse(delay, rise)
    dose = full_light(short_on, lamp)
    lost_less = lamp.lag - (short_on - dose)
    if dose < 0.03 * short_on or lost_less < (1e-4 if short_on <= 0.5 else 0.002):
        return  # too little light, or too little rise left in it, to tell the two apart
    got = response_from_doses(lamp.lag, short_on, dose)
    assert (got.delay, got.rise) == (pytest.approx(delay, abs=1e-6), pytest.approx(rise, abs=1e-6))


def test_noise() -> None:
    got = found(LampResponse(0.06, 0.1), 8.0, 0.25, noise=0.01)
    assert full_light(1.0, got) == pytest.approx(full_light(1.0, LampResponse(0.06, 0.1)), abs=0.003)


def test_ripple_of_the_mains() -> None:
    times, light = recorded(LampResponse(0.06, 0.1), 8.0)
    rippled = [v * (1 + 0.08 * math.sin(2 * math.pi * 100 * t)) for t, v in zip(times, light, strict=True)]
    assert traces.steady_light(traces.read(times, rippled)) == pytest.approx(700, rel=0.002)


@pytest.mark.parametrize("lamp", [LampResponse(0.06, 0.1), LampResponse(0.2, 0.6)])
def test_several_lights_in_one(lamp: LampResponse) -> None:
    """Of the second lamp 2 s are not enough: cold it still misses 0.6 exp(-3) = 0.03 s less than a long light does, and that
    is none of a warm start."""
    on = 2.0
    # each light after the first begins as if it had been on for the milliseconds in ``sooner``
    sooner, rests = [0.0, 0.08, 0.03], [0.6, 2.5]
    starts = [0.0, on + rests[0], 2 * on + sum(rests)]
    times = [n * 0.002 - 0.5 for n in range(6500)]
    values = []
    for t in times:
        at = [t - begin + more - lamp.delay for begin, more in zip(starts, sooner, strict=True) if begin <= t <= begin + on]
        values.append(700 * (1 - math.exp(-at[0] / lamp.rise)) if at and at[0] > 0 else 0.0)
    trace = traces.read(times, values)
    (rest1, less1), (rest2, less2) = traces.warm_starts(trace, 700.0, on, lamp)
    assert (rest1, rest2) == (pytest.approx(0.6, abs=0.003), pytest.approx(2.5, abs=0.003))
    # 80 ms sooner are a little less than 80 ms of light where the rise has begun by then
    begun = max(0.0, 0.08 - lamp.delay)
    exact = 0.08 - lamp.rise * (math.exp(-begun / lamp.rise) - 1 + begun / lamp.rise)
    assert (less1, less2) == (pytest.approx(exact, abs=0.003), pytest.approx(0.03, abs=0.003))


def wrong(change: str) -> tuple[list[float], list[float]]:
    times, values = recorded(LampResponse(0.06, 0.1), 8.0)
    if change == "no dark":
        return times[600:4200], values[600:4200]
    if change == "ends lit":
        return times[:4000], values[:4000]
    if change == "level":
        return times, [3.0] * len(times)
    if change == "back":
        return [*times[:-1], 0.0], values
    if change == "few":
        return times[:5], values[:5]
    return times, [v + t * 20 for t, v in zip(times, values, strict=True)]  # the room gets lighter


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("no dark", "it has no dark|ends with the light"),
        ("ends lit", "ends with the light"),
        ("level", "no light"),
        ("back", "must rise from row to row"),
        ("few", "at least eight rows"),
        ("lighter", "dark level moved"),
    ],
)
def test_traces_that_are_none(change: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        traces.read(*wrong(change))


def test_light_that_is_not_steady() -> None:
    times, values = recorded(LampResponse(0.06, 0.1), 8.0)
    drifting = [v * (1 - 0.03 * max(0.0, t)) for t, v in zip(times, values, strict=True)]
    with pytest.raises(ValueError, match="still changes"):
        traces.steady_light(traces.read(times, drifting))
    with pytest.raises(ValueError, match="too short to become steady"):
        traces.steady_light(traces.read(*recorded(LampResponse(0.06, 0.1), 1.0)))
