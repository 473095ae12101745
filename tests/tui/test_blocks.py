"""Signs in blocks, read back cell by cell: what is shown is the time, in its place, and never wider than it may be."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.plans.model import Mark, Plan, Step
from timer.run import states
from tui.expose_words import checklist, dots, soon, soon_now
from tui.widgets.blocks import FONT, HIGH, big_words, cells, pixels
from tui.widgets.digits import big, spelled

HALVES = {"█": "##", "▀": "#.", "▄": ".#", " ": ".."}


def as_pixels(text: str) -> list[str]:
    """The pixels of what is shown, all rows as wide as the longest."""
    rows = text.split("\n")
    wide = max(map(len, rows))
    return ["".join(HALVES[cell][half] for cell in row.ljust(wide)) for row in rows for half in (0, 1)]


def ink(text: str) -> tuple[int, int, int, int]:
    """Left, right, top and bottom of what is lit."""
    lit = [(x, y) for y, row in enumerate(as_pixels(text)) for x, pixel in enumerate(row) if pixel == "#"]
    return min(x for x, _ in lit), max(x for x, _ in lit), min(y for _, y in lit), max(y for _, y in lit)


@pytest.mark.parametrize(
    ("seconds", "lead", "tenths"),
    [
        (750, "12:30", ""),
        (60, "1:00", ""),
        (59.94, "59", ".9"),
        (59.96, "1:00", ""),
        (9.96, "10", ".0"),
        (0.1, "0", ".1"),
        (-1, "0", ".0"),
        (60.4, "1:01", ""),
    ],
)
def test_how_a_time_is_written(seconds: float, lead: str, tenths: str) -> None:
    assert spelled(seconds) == (lead, tenths)


@given(st.floats(0, 1000), st.floats(0, 1000), st.integers(20, 160), st.integers(5, 40))
def test_a_time_fits_and_is_centred(seconds: float, more: float, width: int, height: int) -> None:
    shown = big(seconds, seconds + more, width, height)
    assert len(shown.split("\n")) <= height
    _, right, top, bottom = ink(shown)
    assert right < width or width < 30  # narrower than the least size of m:ss with its tenths
    assert abs(top - (2 * height - 1 - bottom)) <= 3


@given(st.lists(st.floats(0, 750), min_size=2, max_size=6), st.integers(60, 160), st.integers(10, 40))
def test_seconds_keep_their_place_from_12_30_to_0_1(times: list[float], width: int, height: int) -> None:
    """Where the last whole second ends is found by the fill of an 8, whose right edge is lit from top to bottom."""
    edges = set()
    for seconds in times:
        whole = int(seconds)
        eight = whole - whole % 10 + 8 if seconds < 60 else (whole // 60) * 60 + 58
        lead, _ = spelled(eight)
        assert lead.endswith("8")
        rows = as_pixels(big(eight, 750, width, height))
        _, _, top, bottom = ink(big(eight, 750, width, height))
        full = [x for x in range(len(rows[0])) if all(rows[y][x] == "#" for y in range(top, bottom + 1))]
        edges.add((max(full), top, bottom))
    assert len(edges) == 1


@given(st.text("".join(FONT), min_size=1, max_size=9))
def test_words_are_told_apart_by_their_form(text: str) -> None:
    rows = pixels(text)
    assert len(rows) == HIGH and len({len(row) for row in rows}) == 1
    assert big_words(text, 10_000) == cells(rows)
    assert big_words(text, len(rows[0]) - 1) == []
    assert pixels(text, 2)[::2] == ["".join(2 * pixel for pixel in row) for row in rows]


def test_no_two_signs_look_alike() -> None:
    assert len(set(FONT.values())) == len(FONT)
    assert {len(rows) for rows in FONT.values()} == {HIGH}
    assert big_words("楼", 80) == []


def test_the_list_says_in_words_what_is_done_and_what_is_next() -> None:
    items = ["lens stopped down", "press: the screen goes RED", "open the box", "in the easel"]
    wide = [row for row in checklist(items, 1, together=2, width=80) if row]
    assert [("done" in row, "press when so" in row) for row in wide] == [
        (True, False),
        (False, True),
        (False, False),
        (False, False),
    ]
    narrow = checklist(items, 2, together=2, width=40)
    assert [row[:4].strip() for row in narrow] == ["done", "done", "▶", "▶"]
    assert max(map(len, narrow)) <= 40


def test_dots_count_the_exposures_and_are_left_out_where_they_do_not_fit() -> None:
    assert dots(2, 6, 30) == "●  ●  ◐  ○  ○  ○"
    assert dots(0, 12, 30).count("○") == 11
    assert dots(3, 64, 30) == ""


def test_the_next_act_in_a_word_or_two() -> None:
    # what is done after the light is never said so large while it is on
    plan = Plan(
        "print",
        "Stair",
        (
            Step("wait", "hold back wall"),
            Step("expose", "base", "base", 10.0, "", (Mark(4.0, "change", "all clear"),)),
            Step("wait", "burn sky"),
            Step("expose", "sky", "sky", 5.0),
        ),
    )
    lit = replace(states.Run(plan), step=1)
    assert (soon_now(lit, 3.0), soon_now(lit, 8.5)) == ("all clear", "light off")
    assert soon("burn window (card with a hole, small circles)") == "burn window"
    assert soon("filters to grade 00; burn lamp") == "filters to grade 00"
