import json
import math

import pytest

from tests.conftest import Run
from timer.bench import lamps
from timer.craft import lamp_calibrate as cal
from timer.craft.lamp_response import LampResponse, after_gap, full_light, on_time

HALOGENS = ["halogen-12v-100w", "halogen-24v-150w", "halogen-24v-250w"]


@pytest.mark.parametrize("name", ["halogen-12v-100w", "halogen-24v-250w"])
def test_eight_short_bursts_uncorrected(name: str) -> None:
    stops = lamps.bursts_against_one(name, 8, 1.0, 2.0, corrected=False)
    assert -0.22 <= stops["graded"] <= -0.15
    assert stops["red"] > stops["green"] > stops["blue"]  # a warming filament is red first


@pytest.mark.parametrize("name", HALOGENS)
@pytest.mark.parametrize(("seconds", "within"), [(0.25, 0.01), (0.5, 0.005), (1.0, 0.005), (3.0, 0.005), (30.0, 0.005)])
def test_corrected_in_every_band(name: str, seconds: float, within: float) -> None:
    stops = lamps.bursts_against_one(name, 8, seconds, 2.0, corrected=True)
    assert set(stops) == {"graded", "soft", "hard", "blue", "green", "red"}
    assert all(abs(value) <= within for value in stops.values()), stops


def test_an_led_needs_nothing_and_a_cold_tube_cannot_be_helped() -> None:
    assert abs(lamps.bursts_against_one("led", 8, 1.0, 2.0, corrected=False)["graded"]) < 0.03
    assert lamps.response_of("led", "graded") == LampResponse()
    tube = lamps.LAMPS["cold-light"]
    first, *_, last = lamps.doses(tube, [(60.0 * n, 60.0 * n + 10) for n in range(12)], ["graded"])
    assert 0.2 <= math.log2(last["graded"] / first["graded"]) <= 0.6  # a session's drift


def test_calibration_by_print() -> None:
    # simulated 8 x 1 s at 10 s gaps matching one exposure, on this bench's own halogen
    lamp = lamps.LAMPS["halogen-12v-100w"]
    bursts = [(11.0 * n, 11.0 * n + 1.0) for n in range(8)]
    light = sum(d["graded"] for d in lamps.doses(lamp, bursts, ["graded"]))
    deficit = 8.0 - lamps.doses(lamp, [(0.0, 8.0)], ["graded"])[0]["graded"]
    match = light + deficit  # the long exposure that gives the same
    assert cal.deficit_from_prints(8, 1.0, match) == pytest.approx(deficit, abs=0.001)
    found = cal.response_from_deficit(deficit)
    assert found.delay + found.rise == pytest.approx(deficit)
    with pytest.raises(ValueError, match="at most"):
        cal.deficit_from_prints(8, 1.0, 9.0)


@pytest.mark.parametrize("use", lamps.USES)
def test_two_numbers_fit_from_doses(use: str) -> None:
    lamp = lamps.LAMPS["halogen-12v-100w"]
    found = lamps.response_of("halogen-12v-100w", use)
    for on in (0.25, 0.35, 0.5, 1.0, 4.0, 30.0):
        (dose,) = lamps.doses(lamp, [(0.0, on)], [use])
        assert abs(math.log2(full_light(on, found) / dose[use])) <= 0.005


def test_traces() -> None:
    lamp = LampResponse(0.06, 0.1)
    step = 0.002

    def trace(on: float) -> tuple[list[float], list[float]]:
        times = [n * step for n in range(round((on + 0.5) / step))]
        values = [700 * (1 - math.exp(-(t - lamp.delay) / lamp.rise)) if lamp.delay <= t <= on else 0.0 for t in times]
        return times, values

    doses = [cal.dose_of_trace(*trace(on), 700.0) for on in (8.0, 0.25)]
    found = cal.response_from_doses(8.0 - doses[0], 0.25, doses[1])
    assert (found.delay, found.rise) == (pytest.approx(0.06, abs=0.004), pytest.approx(0.1, abs=0.006))
    with pytest.raises(ValueError, match="go up"):
        cal.dose_of_trace([0, 1, 1], [1, 1, 1], 1)


def test_lambert_w_against_scipy() -> None:
    from scipy.special import lambertw

    for x in (1e-6, 0.1, 1.0, 10.0, 1e5):
        assert cal.lambert_w(x) == pytest.approx(lambertw(x).real, rel=1e-12)


def test_a_warm_start_loses_less() -> None:
    lamp = LampResponse(0.06, 0.1, ((0.5, 0.4), (2.0, 0.1)))
    needs = [on_time(1.0, after_gap(lamp, gap)) for gap in (0.1, 0.5, 1.0, 2.0, 10.0, None)]
    assert needs == sorted(needs)
    assert needs[-1] == needs[-2] == on_time(1.0, LampResponse(0.06, 0.1))


def test_at_the_command_line(lamphouse: Run, tmp_path: object) -> None:
    args = ("bench", "bursts", "--lamp", "halogen-24v-250w", "--bursts", "8", "--seconds", "1", "--gap", "2", "--json")
    plain = json.loads(lamphouse(*args).stdout)["stops"]
    better = json.loads(lamphouse(*args, "--corrected").stdout)["stops"]
    assert set(plain) == {"graded", "soft", "hard", "blue", "green", "red"}
    assert plain["graded"] < -0.15 < -0.005 < better["graded"] < 0.005
    made = json.loads(lamphouse("calibrate", "match", "--bursts", "8", "--seconds", "1", "--long", "6.9", "--json").stdout)
    assert made["delay_ms"] + made["rise_ms"] == pytest.approx(157.1, abs=0.2)
    plan = json.loads(lamphouse("calibrate", "print", "--show", "--json").stdout)
    assert sum(s["do"] == "expose" for s in plan["steps"]) == 8 + 7
    assert (
        "cannot match" in lamphouse("calibrate", "match", "--bursts", "8", "--seconds", "1", "--long", "9", check=1).stderr
    )
