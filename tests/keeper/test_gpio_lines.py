"""The board on the kernel's own lines, with a line in the place of the kernel's."""

from types import SimpleNamespace
from typing import Any

from timer.keeper.boards.gpio_lines import LinesBoard
from timer.keeper.boards.line import EDGES_KEPT


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
