"""The model of a terminal itself: that it sees what it is there to see."""

import pytest

from tests.tools.terminal_model import Model


def test_a_shell_page_is_seen_when_a_program_leaves() -> None:
    model = Model()
    assert not model.is_dark("red")
    model.feed("\x1b]10;#660000\x1b\\\x1b]11;#000000\x1b\\\x1b[?25l\x1b[?1049h")
    assert model.is_dark("red")
    model.must_be("red")
    model.feed("\x1b[38;2;255;0;0mred\x1b[0m plain")
    assert model.faults == []
    model.feed("\x1b[32m")
    assert model.faults == []
    model.feed("$")
    assert len(model.faults) == 1
    model.feed("\x1b[?1049l")
    assert len(model.faults) == 2  # in colours of its own: the terminal's were told, and are dark


@pytest.mark.parametrize(
    ("room", "data"),
    [
        ("red", "\x1b[31;40mx"),  # a theme's "red" on its "black"
        ("none", "\x1b[38;2;1;0;0;48;2;0;0;0mx"),
        ("red", "\x1b[0m\x1b]111\x1b\\\x1b[K"),
        ("none", "\x1b]112\x1b\\\x1b]110\x1b\\\x1b[?25h"),
        ("red", "\x1b[0m\x1b[2J"),
        ("none", "\x1b[38;5;16;48;5;52m \x1b[2J"),
    ],
)
def test_what_shines_is_seen(room: str, data: str) -> None:
    model = Model(knows_osc=False) if "2J" in data else Model()
    model.feed("\x1b[?25l\x1b]10;#000000\x1b\\\x1b]11;#000000\x1b\\\x1b[38;2;0;0;0;48;2;0;0;0m\x1b[2J")
    model.must_be(room)
    assert model.faults == []
    for char in data:  # in the smallest pieces
        model.feed(char)
    assert model.faults


def test_bells_are_counted_and_ends_of_strings_are_none() -> None:
    model = Model()
    model.feed("\x1b]12;#000000\x07\x07ab\x07")
    assert model.bells == 2


def test_the_consoles_palette() -> None:
    model = Model(linux=True)
    model.feed("\x1b[37;40m\x1b[2J\x1b[?25l")
    assert not model.is_dark("red")
    model.feed("\x1b]P0000000" + "".join(f"\x1b]P{n:X}660000" for n in range(1, 16)))
    assert model.is_dark("red")
    model.feed("\x1b]R")
    assert not model.is_dark("red")
