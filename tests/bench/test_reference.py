"""The bench and its corrections, judged by a second filament that shares no code with the first."""

import math
from functools import partial

import pytest

from tests.bench.reference_lamp import ReferenceLamp, reference
from timer.bench import filament, lamps
from timer.craft.lamp_calibrate import fit
from timer.craft.lamp_response import INSTANT, LampResponse, on_time

FILAMENTS = list(filament.PRESETS)
BANDS = ("graded", "red", "green", "blue")


def second(name: str, data: str = "recommended") -> ReferenceLamp:
    lamp = filament.PRESETS[name]
    return reference(lamp.volts, lamp.watts, lamp.kelvin, lamp.conducted, lamp.source, data)


def bursts_against_one(lamp: ReferenceLamp, response: LampResponse, band: str, seconds: float, gap: float) -> float:
    begin, bursts = 0.0, []
    for n in range(8):
        on = on_time(seconds, response, gap if n else math.inf)
        bursts.append((begin, begin + on))
        begin += on + gap
    (one,) = lamp.doses([(0.0, on_time(8 * seconds, response))], band)
    return math.log2(sum(lamp.doses(bursts, band)) / one)


@pytest.mark.parametrize("name", FILAMENTS)
@pytest.mark.parametrize(("seconds", "gap"), [(0.25, 2.0), (1.0, 0.5), (1.0, 2.0), (1.0, 30.0), (3.0, 5.0)])
def test_the_bench_loses_what_the_reference_loses(name: str, seconds: float, gap: float) -> None:
    ours = lamps.bursts_against_one(name, 8, seconds, gap, corrected=False)
    for band in BANDS:
        theirs = bursts_against_one(second(name), INSTANT, band, seconds, gap)
        assert ours[band] == pytest.approx(theirs, abs=0.005 if seconds >= 1 else 0.02), band


@pytest.mark.parametrize("name", FILAMENTS)
@pytest.mark.parametrize("gap", [0.5, 2.0, 5.0, 30.0])
@pytest.mark.parametrize("seconds", [0.5, 1.0])
def test_calibrated_on_the_bench_and_judged_by_the_reference(name: str, gap: float, seconds: float) -> None:
    for band in BANDS:
        off = bursts_against_one(second(name), lamps.response_of(name, band), band, seconds, gap)
        assert abs(off) <= 0.01, band


@pytest.mark.parametrize("data", ["recommended", "older"])
@pytest.mark.parametrize("name", FILAMENTS)
@pytest.mark.parametrize("gap", [0.3, 0.5, 2.0, 5.0, 30.0])
def test_calibrated_on_the_reference_itself(name: str, gap: float, data: str) -> None:
    # the form of the warm start is no property of the bench: a lamp of other published data is followed as well
    lamp = second(name, data)

    def cold(band: str, on: float) -> float:
        return lamp.doses([(0.0, on)], band)[0]

    def after(band: str, rest: float) -> float:
        return sum(lamp.doses([(0, 4), (4 + rest, 6 + rest)], band)) - lamp.doses([(0, 4)], band)[0]

    for band in BANDS:
        response = fit(partial(cold, band), partial(after, band))
        assert abs(bursts_against_one(lamp, response, band, 1.0, gap)) <= 0.005, band
