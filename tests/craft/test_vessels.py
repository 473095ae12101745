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


def placed(across: float, along: float, sheet: tuple[float, float], closed: bool = False) -> int:
    """Sheets laid one by one, row by row, each a little free of the last; ``closed``: the last row of the first, too."""
    count, y = 0, 0.0
    while y + sheet[1] + closed * craft_vessels.ROOM_MM <= along:
        x = 0.0
        while x + sheet[0] <= across:
            count += 1
            x += sheet[0] + craft_vessels.ROOM_MM
        y += sheet[1] + craft_vessels.ROOM_MM
    return count


@given(sides, sides, sheets)
def test_as_many_as_can_be_placed(one: float, other: float, sheet: Size) -> None:
    rooms = (one + 2, other + 2, other)
    assume(all(abs(side / (s + 2) % 1 - 0.5) < 0.499 for side in rooms for s in (sheet.short, sheet.long)))
    ways = ((sheet.short, sheet.long), (sheet.long, sheet.short))
    flat = max(placed(one, other, way) for way in ways)
    assert craft_vessels.fit(craft_vessels.Drum("d", one, other), sheet).count == max(
        placed(one, other, way, closed=True) for way in ways
    )
    assert craft_vessels.fit(craft_vessels.Tray("t", min(one, other), max(one, other)), sheet).count == flat


def test_round_the_wall_every_sheet_has_a_gap_on_both_sides() -> None:
    # 8x10 is 203.2 mm wide: two round the wall are 2 x 203.2 and two gaps of 2, 410.4 mm; in a tray one gap will do
    sheet = parse_sheet("8x10in")
    assert [craft_vessels.fit(craft_vessels.Drum("d", 255, around), sheet).count for around in (408.6, 410.3, 410.4)] == [
        1,
        1,
        2,
    ]
    assert craft_vessels.fit(craft_vessels.Tray("t", 254, 408.4), sheet).count == 2


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


def test_sheets_to_the_millimetre() -> None:
    """Two of 100 mm with 2 mm between them want 202; one as long as the drum goes in, its ends 2 mm apart round the wall."""
    sheet = Size(100, 150)
    assert craft_vessels.fit(craft_vessels.Drum("d", 202, 300), sheet) == craft_vessels.Fit(2, "long side round the drum")
    assert craft_vessels.fit(craft_vessels.Drum("d", 201.9, 300), sheet) == craft_vessels.Fit(2, "long side along the drum")
    assert craft_vessels.fit(craft_vessels.Drum("d", 201.9, 201.9), sheet).count == 1
    assert craft_vessels.fit(craft_vessels.Drum("d", 150, 102), sheet) == craft_vessels.Fit(1, "long side along the drum")
    assert craft_vessels.fit(craft_vessels.Drum("d", 149.9, 102), sheet) == craft_vessels.Fit(0, "")
    assert craft_vessels.fit(craft_vessels.Tray("t", 202, 304), sheet) == craft_vessels.Fit(4, "")


def test_the_limits_of_what_is_a_vessel() -> None:
    for vessel in (craft_vessels.Drum("d", 50, 2000, 20_000), craft_vessels.Tray("t", 50, 2000, 0.5)):
        craft_vessels.check(vessel)
    for length, around, least in ((49.9, 300, None), (300, 2000.1, None), (300, 300, 0), (300, 300, 20_000.5)):
        for wrong in (craft_vessels.Drum("d", length, around, least), craft_vessels.Tray("t", length, around, least)):
            with pytest.raises(ValueError, match=r"50 to 2000 mm|1 to 20000 ml"):
                craft_vessels.check(wrong)


def test_the_usual_vessels() -> None:
    """Our own choice: a tray 20 mm larger on every side; a drum of 260 x 270, or one as large as the sheets and 2 mm each."""
    assert craft_vessels.unmeasured("tray", Size(100, 150), 1) == craft_vessels.Tray("a tray a little larger", 140, 190)
    drums = {(Size(100, 150), 1): (260, 270), (Size(203, 254), 2): (410, 270), (Size(279, 356), 1): (281, 358)}
    for (sheet, count), (length, around) in drums.items():
        assert craft_vessels.unmeasured("drum", sheet, count) == craft_vessels.Drum(
            "a drum it just fits into", length, around
        )


def test_what_is_poured_and_why() -> None:
    """8x10 is one sheet of 8x10 and uses up 70 ml; 320 x 430 mm are 1720 ml at 12.5 mm."""
    sheet = parse_sheet("8x10in")
    tray = craft_vessels.filling(craft_vessels.Tray("t", 320, 430), sheet, 1)
    assert (tray.ml, tray.wets, tray.uses, tray.area) == pytest.approx((1720, 1720, 70, 1))
    assert tray.why == "1720 ml cover the print (12.5 mm deep); of them 1.00 sheets of 8x10 use up 70 ml at 70 ml each"
    own = craft_vessels.filling(craft_vessels.Tray("t", 320, 430, 501), sheet, 1)
    assert (own.ml, own.wets, own.why[:40]) == (505, 501, "501 ml cover the print (your own measure")
    drum = craft_vessels.filling(craft_vessels.Drum("d", 260, 420, 62), sheet, 1, per_unit=71)
    assert (drum.ml, drum.wets, drum.uses) == pytest.approx((75, 62, 71))
    assert drum.why == "62 ml wet it evenly (your own measure); 1.00 sheets of 8x10 use up 71 ml at 71 ml each"
    assert craft_vessels.filling(craft_vessels.Drum("d", 260, 420, 91), sheet, 1).ml == 95
    assert "(a pool 7 mm deep from end to end)" in craft_vessels.filling(craft_vessels.Drum("d", 260, 420), sheet, 1).why


def test_a_pool_of_seven_millimetres() -> None:
    # our own choice: a drum of 270 round has a radius of 42.972; the segment is 42.972^2 acos(35.972 / 42.972) - 35.972 root
    radius = 270 / 2 / math.pi
    segment = radius**2 * math.acos((radius - 7) / radius) - (radius - 7) * math.sqrt(radius**2 - (radius - 7) ** 2)
    assert craft_vessels.wets(craft_vessels.Drum("d", 260, 270)) == pytest.approx(260 * segment / 1000)


def test_measures_that_no_vessel_has_are_told_with_what_it_is() -> None:
    for vessel, says in (
        (craft_vessels.Drum("d", 40, 300), "d (drum, 40 mm long and 300 mm round inside): the measures of a drum are 50 to"),
        (craft_vessels.Tray("t", 300, 2001), "t (tray, 300 x 2001 mm at the bottom): the measures of a tray are 50 to"),
    ):
        with pytest.raises(ValueError, match="the measures of a") as told:
            craft_vessels.check(vessel)
        assert str(told.value).startswith(says)
    for vessel in (craft_vessels.Drum("d", 50, 2000), craft_vessels.Tray("t", 2000, 50)):
        craft_vessels.check(vessel)
