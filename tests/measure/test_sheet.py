"""What a sheet's patches were given, from the notebook's own rows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.filters import Pack
from timer.craft.lights import Lights
from timer.craft.solve import Reading as Solved
from timer.documents.reading import Reading
from timer.errors import Refused
from timer.measure import sheet
from timer.measure.sheet import Given, Sheet

LIGHTS = [Given(1, 10.0, Pack(0, 60, 50)), Given(2, 7.0, Pack(0, 60, 50))]


def read(sample: str, density: float | None = 0.7) -> Reading:
    return Reading(sample, 0.7, density, 0.7, None)


def counted(lights: list[Given], *read: Reading, aim: sheet.Aim = (0.7, 0.7, 0.7)) -> list[Solved]:
    return sheet.readings([Sheet(5, tuple(lights), read)], aim, "densitometer")


@pytest.mark.parametrize("name", ["2 by eye", "2", "02", "patch 2", "Patch 2", "P2", "A2"])
def test_a_patch_by_the_names_that_instruments_give_it(name: str) -> None:
    (found,) = counted(LIGHTS, read(name))
    assert found.seconds == 7.0 and found.controls == (0.0, 0.6, 0.5) and found.sheet == 5


def test_any_name_is_a_prints() -> None:
    (found,) = counted([Given(sheet.WHOLE, 9.0, Pack(0, 60, 50))], read("grey card"), read("AIM"))
    assert found.seconds == 9.0
    assert sheet.aim_of([read("grey card"), read("AIM", 0.6)], 5) == (0.7, 0.6, 0.7)


def test_what_cannot_be_solved_from_is_said() -> None:
    with pytest.raises(Refused, match="has no patch '3'"):
        counted(LIGHTS, read("3"))
    with pytest.raises(Refused, match="needs red, green and blue"):
        counted(LIGHTS, read("1", None))


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
    whole = Sheet(5, (Given(sheet.WHOLE, 9.0, Pack(0, 60, 50)),), ())
    seen = sheet.look(whole, Pack(20, 0, 20), 0.0, None)
    (found,) = counted(list(whole.lights), seen, aim=(0.74, 0.74, 0.74))
    red, green, blue = found.density
    assert green > red == pytest.approx(blue)
    assert green - red == pytest.approx(0.20) and (red + green + blue) / 3 == pytest.approx(0.74)
    assert found.error == sheet.ERRORS["eye"]


def test_a_patch_that_is_right_has_the_aims_density() -> None:
    seen = sheet.look(Sheet(5, tuple(LIGHTS), ()), Pack(), 0.0, 2)
    assert seen.sample == "2 by eye"
    (found,) = counted(LIGHTS, seen, aim=(0.8, 0.7, 0.6))
    assert found.density == pytest.approx((0.8, 0.7, 0.6)) and found.seconds == 7.0
    with pytest.raises(Refused, match="say which one you looked at"):
        sheet.look(Sheet(5, tuple(LIGHTS), ()), Pack(), 0.0, None)


def test_how_much_a_reading_counts() -> None:
    def errors(*read: Reading) -> list[float]:
        return [each.error for each in counted(LIGHTS, *read)]

    def by(kind: str, sample: str = "1", error: float | None = None) -> Reading:
        return Reading(sample, 0.7, 0.7, 0.7, None, kind, error)  # type: ignore[arg-type]

    assert errors(read("1"), by("scan", "2"), by("colorimeter", "p1")) == [0.01, 0.03, 0.05]
    assert errors(by("scan"), by("scan", "aim")) == [0.015]
    assert errors(by("scan"), by("", "aim")) == [0.03]  # another instrument read the aim
    assert errors(by("scan", error=0.2), by("scan", "aim")) == [0.2]


def test_one_print_read_with_two_sheets_says_what_the_scanner_did_between_them() -> None:
    first = Sheet(5, tuple(LIGHTS), (read("1", 0.9), read("aim", 0.75)))
    second = Sheet(6, tuple(LIGHTS), (read("1", 0.8), read("aim", 0.70)))
    found = sheet.readings([first, second], (0.7, 0.70, 0.7), "scan")
    assert [each.density[1] for each in found] == pytest.approx([0.85, 0.80])
    said = sheet.readings([first, second], (0.7, 0.70, 0.7), "scan", said=True)
    assert [each.density[1] for each in said] == pytest.approx([0.90, 0.80])
    another = Sheet(6, tuple(LIGHTS), (read("1", 0.8), read("aim", 0.40)))
    assert sheet.readings([another], (0.7, 0.70, 0.7), "scan")[0].density[1] == pytest.approx(0.80)
