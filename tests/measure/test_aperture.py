"""Sheets at several apertures, by the marks' own meaning: from one to the next is a stop, twice or half the light."""

import pytest

from timer.craft.filters import Pack
from timer.measure.aperture import at_one_aperture
from timer.measure.sheet import Given, Sheet


def sheet(run: int, seconds: float) -> Sheet:
    return Sheet(run, (Given(1, seconds, Pack(m=50)), Given(2, 2 * seconds, Pack(m=50))), ())


def test_seconds_count_as_at_the_last_aperture() -> None:
    """10 s at f/8 are 20 s at f/11, and 5 s at f/5.6; the marks stand for whole stops, which 11 squared over 8 squared is not."""
    sheets, notes = at_one_aperture([sheet(3, 10), sheet(4, 40), sheet(5, 20)], {3: 8.0, 4: 16.0, 5: 11.0})
    assert [each.lights[0].seconds for each in sheets] == pytest.approx([20, 20, 20])
    assert sheets[0].lights[1].seconds == pytest.approx(40) and sheets[0].lights[1].setting == Pack(m=50)
    assert notes == [
        "sheet 3 was made at f/8: its seconds count as 2 times as many at f/11",
        "sheet 4 was made at f/16: its seconds count as 0.5 times as many at f/11",
    ]


@pytest.mark.parametrize("mark", [None, 8.0])
def test_at_one_aperture_or_none_written_nothing_changes(mark: float | None) -> None:
    sheets = [sheet(3, 10), sheet(4, 12)]
    assert at_one_aperture(sheets, {3: mark, 4: mark}) == (sheets, [])


@pytest.mark.parametrize(("first", "last", "written"), [(8.0, None, 3), (None, 8.0, 4)])
def test_an_aperture_that_is_not_written_is_said(first: float | None, last: float | None, written: int) -> None:
    sheets = [sheet(3, 10), sheet(4, 12)]
    same, (note,) = at_one_aperture(sheets, {3: first, 4: last})
    assert same == sheets
    assert note.startswith(f"sheet {written} has its aperture written and sheet {7 - written} has not")
