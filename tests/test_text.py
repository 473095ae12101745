"""What acts on a terminal is refused where it comes in, and taken out where it is shown."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from timer.text import for_cells, one_line, plain, unfit

ACTING = ["\x00", "\x07", "\x1b", "\x7f", "\x85", "\x9b", "\u2028", "\u202e", "\u2066", "\ufeff", "\ud800", "\udcff"]


@pytest.mark.parametrize("char", ACTING)
def test_what_acts_is_found_and_taken_out(char: str) -> None:
    for text in (char, f"A{char}[?5hB", f"two\nlines{char}"):
        assert f"U+{ord(char):04X}" in unfit(text, lines=True)
        assert char not in plain(text) + one_line(text) + for_cells(text)


def test_lines_and_tabs_are_for_notes_alone() -> None:
    assert unfit("two\nlines", lines=True) == ""
    assert unfit("two\nlines") == "a line break"
    assert unfit("a\tb") == "a tab"
    assert plain("two\r\nlines\tof notes") == "two\nlines\tof notes"
    assert one_line("two\n  lines") == "two lines"


def test_ordinary_text_of_any_script_passes() -> None:
    for text in ("Café, ½ stop", "暗室", "חדר חושך\u200f", "👨\u200d👩\u200d👧", "−⅓ × 2 µs °C — …"):
        assert unfit(text) == ""
        assert plain(text) == one_line(text) == for_cells(text) == text


def test_a_long_line_keeps_its_ends() -> None:
    assert len(one_line("a" * 5000 + "z")) <= 600
    assert one_line("a" * 5000 + "z").endswith("z")


@given(st.text(alphabet=st.characters()))
def test_no_control_or_half_a_pair_is_left(text: str) -> None:
    for made in (plain(text), one_line(text), for_cells(text)):
        assert not [c for c in made if unicodedata.category(c) in ("Cc", "Cs") and c not in "\n\t"]
        made.encode()
    assert cell_len(for_cells(text)) == cell_len(text)
