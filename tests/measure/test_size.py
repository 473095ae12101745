"""Sheets at several sizes, by Clerc's rule (*Photography: Theory and Practice*, p. 765): exposures go as (M + 1) squared."""

import pytest

from timer.craft.filters import Pack
from timer.documents.recipe import Enlargement
from timer.errors import Refused
from timer.measure.sheet import Given, Sheet
from timer.measure.size import at_one_size


def sheet(run: int, seconds: float) -> Sheet:
    return Sheet(run, (Given(1, seconds, Pack(m=50)), Given(2, 2 * seconds, Pack(m=50))), ())


SMALL, LARGE = Enlargement("6x6", "140x140mm"), Enlargement("6x6", "280x280mm")  # 56 mm: 2.5 and 5 times


def test_seconds_count_as_at_the_last_size() -> None:
    """From 2.5 to 5 times: 36 over 12.25 of the light, 2.939; at 3 times by a measured detail 36 over 16."""
    measured = Enlargement(sheet="9x9cm", detail_negative_mm=10, detail_print_mm=30)
    sheets, notes = at_one_size([sheet(3, 10), sheet(4, 10), sheet(5, 20)], {3: SMALL, 4: measured, 5: LARGE})
    assert [each.lights[0].seconds for each in sheets] == pytest.approx([10 * 36 / 12.25, 22.5, 20])
    assert sheets[0].lights[1].seconds == pytest.approx(20 * 36 / 12.25) and sheets[0].lights[1].setting == Pack(m=50)
    assert notes == [
        "sheet 3 was made at magnification 2.50: its seconds count as 2.94 times as many at 5.00",
        "sheet 4 was made at magnification 3.00: its seconds count as 2.25 times as many at 5.00",
    ]
    bent, _ = at_one_size([sheet(3, 10), sheet(5, 20)], {3: SMALL, 5: LARGE}, 0.5)
    assert bent[0].lights[0].seconds == pytest.approx(10 * 6 / 3.5)  # the root of it, on such a head


@pytest.mark.parametrize(
    "place",
    [None, Enlargement(aperture=8), LARGE, Enlargement(sheet="8x10in"), Enlargement(lens_to_paper_mm=400)],
)
def test_at_one_size_or_none_written_nothing_changes(place: Enlargement | None) -> None:
    sheets = [sheet(3, 10), sheet(4, 12)]
    assert at_one_size(sheets, {3: place, 4: place}) == (sheets, [])
    assert at_one_size(sheets, {3: Enlargement(sheet="8x10in"), 4: Enlargement(sheet="8x10")}) == (sheets, [])


@pytest.mark.parametrize(("first", "last", "written"), [(SMALL, None, 3), (Enlargement(aperture=8), SMALL, 4)])
def test_a_size_that_is_not_written_is_said(first: Enlargement | None, last: Enlargement | None, written: int) -> None:
    sheets = [sheet(3, 10), sheet(4, 12)]
    same, (note,) = at_one_size(sheets, {3: first, 4: last})
    assert same == sheets
    assert note.startswith(f"sheet {written} has its size written and sheet {7 - written} has not")


@pytest.mark.parametrize("first", [Enlargement(sheet="18x24cm"), Enlargement(lens_to_paper_mm=400)])
def test_two_sizes_without_a_negative_are_refused(first: Enlargement) -> None:
    with pytest.raises(Refused, match="sheets 3 and 4 are of two sizes .* how much larger"):
        at_one_size([sheet(3, 10), sheet(4, 12)], {3: first, 4: Enlargement(sheet="30x40cm")})
