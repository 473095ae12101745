"""A strip drawn: equal light is an equal shade, and no time is cut to another one."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from timer.craft.filters import Pack
from timer.plans.first_sheet import first_sheet_plan
from timer.plans.model import Plan, PlanPatch
from timer.plans.strip import strip_plan
from timer.plans.test_sheets import ring_plan
from tui.widgets.lines import lines_of, shortened, whole
from tui.widgets.sheet import shades, strip_rows

LIGHT_TO_DARK = "█▓▒░ "


def test_a_first_sheet_is_shaded_by_its_light_and_not_by_its_numbers() -> None:
    plan = first_sheet_plan(Pack(0, 60, 50), 1.5, "cp")  # as it is, lighter, darker, and two packs with as much light
    assert shades(plan) == ["▒", "█", " ", "▒", "▒"]
    assert [row.split("│")[4].strip() for row in strip_rows(plan, 60)[5:8]] == ["0", "80M", "50Y"]


def test_a_ring_of_one_density_has_one_shade_and_its_packs() -> None:
    plan = ring_plan(Pack(0, 60, 50), 10, 4.0, "cp")
    assert set(shades(plan)) == {"▒"}
    drawn = "\n".join(strip_rows(plan, 40))
    assert "70M" in drawn and "60Y" in drawn


def test_a_strip_is_shaded_as_it_always_was() -> None:
    plan = strip_plan(8.0, Fraction(1, 3), 5, "cover", paper="bw")
    assert "".join(shades(plan)) == LIGHT_TO_DARK


@given(st.lists(st.floats(0.05, 500.0), min_size=2, max_size=9))
def test_more_light_is_never_lighter_and_equal_light_is_equal(seconds: list[float]) -> None:
    patches = tuple(PlanPatch(n, 0.0, s) for n, s in enumerate(seconds, 1))
    drawn = [LIGHT_TO_DARK.index(shade) for shade in shades(Plan("strip", "", (), patches))]
    for one, its in zip(seconds, drawn, strict=True):
        for other, theirs in zip(seconds, drawn, strict=True):
            assert its <= theirs if one <= other else its >= theirs


def test_no_time_is_cut_to_another() -> None:
    plan = strip_plan(0.84, Fraction(1, 2), 6, "cover", paper="bw")
    for width in (25, 31, 60):
        times = next(row for row in strip_rows(plan, width) if "1.2" in row)
        assert float(times.split("│")[1]) in (0.8, 0.84)


def test_a_low_drawing_keeps_numbers_shades_and_times() -> None:
    plan = strip_plan(8.0, Fraction(1, 3), 5, "cover", paper="bw")
    for height in range(3, 10):
        rows = strip_rows(plan, 40, height)
        assert len(rows) <= height
        assert any(" 5 " in row for row in rows) and any("20.2" in row for row in rows)


def test_what_has_no_room_is_counted() -> None:
    assert shortened("abcde", 3) == ["a", "b", "… and 3 more"]
    assert shortened("abc", 3) == ["a", "b", "c"]
    said = ["one two three four", "five", "six seven"]
    assert whole(said, 10, 3) == ["one two three four", "… and 2 more"]
    assert whole(said, 10, 4) == said
    assert lines_of("", 10) == 1
