"""What fits into a drum or a tray, against a search by placing; pools, against an integral."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import quad

from timer.craft import vessels as craft_vessels
from timer.craft.enlargement import Size, parse_sheet

sides = st.floats(60, 900)
sheets = st.builds(lambda a, b: Size(min(a, b), max(a, b)), st.floats(50, 600), st.floats(50, 600))


def placed(across: float, along: float, sheet: tuple[float, float]) -> int:
    """Sheets laid one by one, row by row, each a little free of the last."""
    count, y = 0, 0.0
    while y + sheet[1] <= along:
        x = 0.0
        while x + sheet[0] <= across:
            count += 1
            x += sheet[0] + craft_vessels.ROOM_MM
        y += sheet[1] + craft_vessels.ROOM_MM
    return count


@given(sides, sides, sheets)
def test_as_many_as_can_be_placed(one: float, other: float, sheet: Size) -> None:
    assume(all(abs((side + 2) / (s + 2) % 1 - 0.5) < 0.499 for side in (one, other) for s in (sheet.short, sheet.long)))
    both = [placed(one, other, (sheet.short, sheet.long)), placed(one, other, (sheet.long, sheet.short))]
    assert craft_vessels.fit(craft_vessels.Drum("d", one, other), sheet).count == max(both)
    assert craft_vessels.fit(craft_vessels.Tray("t", min(one, other), max(one, other)), sheet).count == max(both)


def test_which_way_it_lies() -> None:
    # 12x16 in, 305 x 406 mm: only one way into each of these
    sheet = parse_sheet("12x16in")
    assert craft_vessels.fit(craft_vessels.Drum("long", 420, 320), sheet) == craft_vessels.Fit(1, "long side along the drum")
    assert craft_vessels.fit(craft_vessels.Drum("fat", 320, 420), sheet) == craft_vessels.Fit(1, "long side round the drum")
    assert craft_vessels.fit(craft_vessels.Drum("small", 345, 285), sheet).count == 0
    # both ways: across its length, where a tilt does least
    assert craft_vessels.fit(craft_vessels.Drum("large", 425, 530), sheet).way == "long side round the drum"
    # two of 8x10 end to end, not side by side
    assert craft_vessels.fit(craft_vessels.Drum("tube", 420, 260), parse_sheet("8x10in")) == craft_vessels.Fit(
        2, "long side round the drum"
    )


@given(st.floats(100, 600), st.floats(150, 900), st.floats(1, 30))
def test_a_pool_by_integral(length: float, around: float, depth: float) -> None:
    radius = around / (2 * math.pi)
    depth = min(depth, radius)
    segment, _ = quad(lambda y: 2 * math.sqrt(max(0.0, radius**2 - y**2)), radius - depth, radius)
    assert craft_vessels.pool(length, around, depth) == pytest.approx(segment * length / 1000, rel=1e-6)


def test_a_full_drum_is_a_cylinder() -> None:
    assert craft_vessels.pool(300, 300, 1e6) == pytest.approx(math.pi * (300 / 2 / math.pi) ** 2 * 300 / 1000)


def test_filling_is_not_capacity() -> None:
    tray = craft_vessels.Tray("big", 320, 430)
    one = craft_vessels.filling(tray, parse_sheet("12x16in"), 1)
    # half an inch over the bottom of the tray, whatever the sheet uses up: 1.7 litres, not 600 ml
    assert one.wets == pytest.approx(320 * 430 * 12.5 / 1000)
    assert one.uses == pytest.approx(2.4 * 70)  # 12x16 is 2.4 sheets of 8x10
    assert craft_vessels.filling(tray, parse_sheet("5x7in"), 1).ml == one.ml
    drum = craft_vessels.Drum("large", 425, 530)
    few, many = (craft_vessels.filling(drum, parse_sheet("5x7in"), n) for n in (1, 6))
    assert few.ml == math.ceil(craft_vessels.wets(drum) / 5) * 5 > few.uses
    assert many.ml == math.ceil(6 * 35 / 25.4**-2 / craft_vessels.UNIT_MM2 * 70 / 5) * 5  # by what they use up: 6 x 35 sq in


def test_the_usual_drum_of_one_8x10() -> None:
    # common practice, not a published value: about 60 ml is the least
    assert craft_vessels.wets(craft_vessels.Drum("usual", *craft_vessels.SMALLEST_DRUM_MM)) == pytest.approx(60, abs=2)
    assert craft_vessels.filling(craft_vessels.unmeasured("drum", parse_sheet("4x5in"), 1), parse_sheet("4x5in"), 1).ml == 60


@given(sheets, st.integers(1, 6), st.sampled_from(["drum", "tray"]))
def test_an_unmeasured_vessel_takes_what_it_is_made_for(sheet: Size, count: int, kind: craft_vessels.Kind) -> None:
    if kind == "tray":
        count = 1
    made = craft_vessels.filling(craft_vessels.unmeasured(kind, sheet, count), sheet, count)
    assert made.ml >= max(made.wets, 0.0 if kind == "tray" else made.uses) - 1e-6


@pytest.mark.parametrize(
    "vessel", [craft_vessels.Drum("a", 30, 200), craft_vessels.Tray("b", 20, 3000), craft_vessels.Drum("c", 300, 300, -1)]
)
def test_measures_that_are_none(vessel: craft_vessels.Vessel) -> None:
    with pytest.raises(ValueError, match=r"50 to 2000 mm|1 to 20000 ml"):
        craft_vessels.check(vessel)


def test_too_many_and_too_large() -> None:
    drum = craft_vessels.Drum("tube", 345, 285)
    with pytest.raises(ValueError, match="305 x 406 mm does not fit into tube"):
        craft_vessels.filling(drum, parse_sheet("12x16in"), 1)
    with pytest.raises(ValueError, match="takes 2 of 127 x 178 mm at once, not 3"):
        craft_vessels.filling(drum, parse_sheet("5x7in"), 3)
