"""The board on the kernel's own lines, with a line in the place of the kernel's."""

from collections.abc import Iterator
from contextlib import contextmanager
from types import SimpleNamespace
from typing import Any

import pytest
from gpiod.line import Value

from timer.errors import KeeperError
from timer.keeper.boards import gpio_lines
from timer.keeper.boards.gpio_lines import LinesBoard
from timer.keeper.boards.line import EDGES_KEPT
from timer.keeper.config import Config


class Chattering:
    """A footswitch's line whose edges come faster than they are read: there is always one more."""

    def __init__(self) -> None:
        self.told = 0

    def wait_edge_events(self, seconds: float) -> bool:
        assert seconds == 0
        return True

    def read_edge_events(self, most: int | None = None) -> list[Any]:
        assert self.told < 10 * EDGES_KEPT, "it is read for ever, and the off-edge waits"
        kind = SimpleNamespace(RISING_EDGE="rising")
        self.told += EDGES_KEPT
        return [SimpleNamespace(event_type="rising", Type=kind, timestamp_ns=n) for n in range(EDGES_KEPT)][:most]


def test_a_line_that_chatters_for_ever_does_not_hold_up_the_loop() -> None:
    board = LinesBoard.__new__(LinesBoard)
    board._foot = Chattering()
    assert len(board.pedal_edges()) == EDGES_KEPT


class Driven:
    """The lamp's line, that reads ``reads`` whatever it is set to; None: it cannot be read."""

    def __init__(self, reads: Value | None) -> None:
        self.reads, self.set, self.open = reads, [Value.INACTIVE], False

    def get_value(self, offset: int) -> Value:
        if self.reads is None:
            raise OSError("not supported")
        return self.reads

    def set_value(self, offset: int, value: Value) -> None:
        self.set.append(value)

    @contextmanager
    def taken(self, *_: object) -> Iterator["Driven"]:
        self.open = True
        yield self
        self.open = False


@pytest.fixture
def driven(monkeypatch: pytest.MonkeyPatch) -> Driven:
    line = Driven(Value.INACTIVE)
    monkeypatch.setattr(gpio_lines, "taken", line.taken)
    monkeypatch.setattr(gpio_lines, "find_chip", lambda _: "/dev/gpiochip9")
    monkeypatch.setattr(gpio_lines, "check_lamp_pin", lambda *_: None)
    return line


@pytest.mark.parametrize("reads", [Value.INACTIVE, None])
def test_a_line_that_is_low_or_cannot_be_read_is_taken(driven: Driven, reads: Value | None) -> None:
    driven.reads = reads
    board = LinesBoard(Config("", lamp="gpio", footswitch_pin=0))
    board.lamp(True)
    board.close()
    assert driven.set == [Value.INACTIVE, Value.ACTIVE, Value.INACTIVE]
    assert not driven.open


def test_a_line_that_something_else_drives_high_is_refused(driven: Driven) -> None:
    """docs/protocol.md, rule 13: there is light already, and no keeper could end it."""
    driven.reads = Value.ACTIVE
    with pytest.raises(KeeperError, match="reads high though it is driven low"):
        LinesBoard(Config("", lamp="gpio", footswitch_pin=0))
    assert Value.ACTIVE not in driven.set
    assert not driven.open
