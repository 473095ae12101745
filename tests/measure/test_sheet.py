"""What a sheet's patches were given, from the notebook's own rows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.filters import Pack
from timer.craft.lights import Lights
from timer.documents.cgats import Reading
from timer.errors import Refused
from timer.measure import sheet
from timer.measure.sheet import Given

LIGHTS = [Given(1, 10.0, Pack(0, 60, 50)), Given(2, 7.0, Pack(0, 60, 50))]


def read(sample: str, density: float | None = 0.7) -> Reading:
    return Reading(sample, 0.7, density, 0.7, None)


@pytest.mark.parametrize("name", ["2", "02", "patch 2", "Patch 2", "P2", "A2"])
def test_a_patch_by_the_names_that_instruments_give_it(name: str) -> None:
    (found,) = sheet.readings(5, LIGHTS, [read(name)], 0.01)
    assert found.seconds == 7.0 and found.controls == (0.0, 0.6, 0.5) and found.sheet == 5


def test_any_name_is_a_prints() -> None:
    (found,) = sheet.readings(5, [Given(sheet.WHOLE, 9.0, Pack(0, 60, 50))], [read("grey card"), read("AIM")], 0.01)
    assert found.seconds == 9.0
    assert sheet.aim_of([read("grey card"), read("AIM", 0.6)], 5) == (0.7, 0.6, 0.7)


def test_what_cannot_be_solved_from_is_said() -> None:
    with pytest.raises(Refused, match="has no patch '3'"):
        sheet.readings(5, LIGHTS, [read("3")], 0.01)
    with pytest.raises(Refused, match="needs red, green and blue"):
        sheet.readings(5, LIGHTS, [read("1", None)], 0.01)


amount = st.floats(0, 250)


@given(amount, amount, amount)
def test_a_pack_there_and_back(c: float, m: float, y: float) -> None:
    back = sheet.as_setting(sheet.controls(Pack(c, m, y)), Pack())
    assert isinstance(back, Pack)
    assert (back.c, back.m, back.y) == pytest.approx((c, m, y), abs=0.006)


@given(*(st.floats(1, 100) for _ in range(3)), st.sampled_from([0.0, 12.0]))
def test_lights_there_and_back(red: float, green: float, blue: float, per_stop: float) -> None:
    lights = Lights(red, green, blue, per_stop)
    back = sheet.as_setting(sheet.controls(lights), lights)
    assert isinstance(back, Lights)
    assert (back.red, back.green, back.blue) == pytest.approx((red, green, blue), abs=0.006)


def test_a_look_through_a_filter_is_a_density() -> None:
    """Right through 20G, which is 20C and 20Y: it has that much too little of them, so it is too magenta."""
    red, green, blue = sheet.through_filter((0.74, 0.74, 0.74), Pack(20, 0, 20), 0.0)
    assert green > red == pytest.approx(blue)
    assert green - red == pytest.approx(0.20) and (red + green + blue) / 3 == pytest.approx(0.74)
