import json
import math
from typing import get_args

import pytest

from tests.conftest import Run
from timer.bench import lamps
from timer.craft import lamp_calibrate as cal
from timer.craft import layers
from timer.craft.lamp_response import LampResponse, full_light
from timer.documents.settings import Bulb

HALOGENS = ["halogen-12v-100w", "halogen-12v-100w-transformer", "halogen-24v-150w", "halogen-24v-250w"]
FILAMENTS = [*HALOGENS, "opal-230v-75w"]


@pytest.mark.parametrize("name", ["halogen-12v-100w", "halogen-24v-250w"])
def test_eight_short_bursts_uncorrected(name: str) -> None:
    stops = lamps.bursts_against_one(name, 8, 1.0, 2.0, corrected=False)
    assert -0.22 <= stops["graded"] <= -0.15
    assert stops["red"] > stops["green"] > stops["blue"]  # a warming filament is red first


@pytest.mark.parametrize("name", FILAMENTS)
@pytest.mark.parametrize("seconds", [0.5, 1.0, 3.0])
@pytest.mark.parametrize("gap", [0.3, 0.5, 2.0, 5.0, 30.0])
def test_corrected_in_every_band(name: str, seconds: float, gap: float) -> None:
    stops = lamps.bursts_against_one(name, 8, seconds, gap, corrected=True)
    assert set(stops) == {"graded", "soft", "hard", "blue", "green", "red"}
    assert all(abs(value) <= 0.005 for value in stops.values()), stops


def test_one_response_for_three_layers_shifts_the_colour() -> None:
    shifted = lamps.bursts_against_one("halogen-24v-250w", 8, 1.0, 30.0, corrected=True, timed_by="green")
    assert shifted["red"] > 0.04 > 0.002 > abs(shifted["green"])
    assert shifted["blue"] < -0.025
    # and the arithmetic that plans are warned by says the same
    three = [lamps.response_of("halogen-24v-250w", layer) for layer in layers.LAYERS]
    found = layers.shifts([1.0] * 8, three[1], three, 30.0)
    assert found == pytest.approx([shifted[layer] for layer in layers.LAYERS], abs=0.002)
    assert layers.shift_cc(found) == pytest.approx(30.1 * (shifted["red"] - shifted["blue"]), abs=0.1)


def test_every_lamp_can_be_the_simulated_one() -> None:
    assert set(get_args(Bulb)) == {"instant", *lamps.LAMPS}


def test_low_mains_is_not_repaired() -> None:
    stops = lamps.bursts_against_one("halogen-24v-250w", 8, 1.0, 2.0, corrected=True, mains=0.9)
    assert -0.04 < stops["graded"] < -0.015


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


def test_lambert_w_against_scipy() -> None:
    from scipy.special import lambertw

    for x in (-0.367, -0.3, -0.1, -1e-6, 1e-6, 0.1, 1.0, 10.0, 1e5):
        assert cal.lambert_w(x) == pytest.approx(lambertw(x).real, rel=1e-12)


@pytest.mark.parametrize("name", HALOGENS)
def test_a_bulb_remembers_its_evening(name: str) -> None:
    bursts = [(0.0, 0.4), (0.6, 1.6), (3.0, 3.2), (3.5, 5.0), (35.0, 36.0)]
    burning = lamps.Burning(name)
    told = [burning.light(on, off) for on, off in bursts]
    known = lamps.doses(lamps.LAMPS[name], bursts, lamps.USES)
    for use in lamps.USES:
        # light burst by burst may be told before the next one cuts its glow off; all of it together is the same
        assert sum(light[use] for light in told) == pytest.approx(sum(dose[use] for dose in known), abs=2e-4)
        assert told[-1][use] == pytest.approx(known[-1][use], abs=2e-4)


def test_a_tube_remembers_its_evening() -> None:
    burning = lamps.Burning("cold-light")
    first, *_, last = [burning.light(60.0 * n, 60.0 * n + 10)["graded"] for n in range(12)]
    assert 0.2 <= math.log2(last / first) <= 0.6


@pytest.mark.parametrize("name", HALOGENS)
def test_one_rest_measured_by_print_does_well(name: str) -> None:
    # what the eye leaves is more than what is lost by measuring one rest of two
    whole = lamps.response_of(name, "graded")
    (first, second) = lamps.doses(lamps.LAMPS[name], [(0.0, 2.0), (3.0, 5.0)], ["graded"])
    cold = LampResponse(whole.delay, whole.rise)
    found = cal.with_recovery(cold, [1.0], [first["graded"] + second["graded"] - 2 * (2.0 - whole.lag)])
    for rest in (0.3, 0.5, 1.0, 2.0, 4.0, 8.0, 30.0):
        assert full_light(1.0, found, rest) == pytest.approx(full_light(1.0, whole, rest), abs=0.0075), rest


def test_at_the_command_line(lamphouse: Run, tmp_path: object) -> None:
    args = ("bench", "bursts", "--lamp", "halogen-24v-250w", "--bursts", "8", "--seconds", "1", "--gap", "2", "--json")
    plain = json.loads(lamphouse(*args).stdout)["stops"]
    better = json.loads(lamphouse(*args, "--corrected").stdout)["stops"]
    assert set(plain) == {"graded", "soft", "hard", "blue", "green", "red"}
    assert plain["graded"] < -0.15 < -0.005 < better["graded"] < 0.005
    assert json.loads(lamphouse(*args, "--corrected").stdout)["colour_shift_cc"] > 2
