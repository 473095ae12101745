"""What a board is."""

from collections.abc import Sequence
from typing import Any, Protocol

from timer.keeper.boards.line import Line


class Board(Protocol):
    """The lamp and what is around it. All methods are called on one thread and come back at once."""

    pedal_down: bool
    """Whether the footswitch was closed when the board was opened."""
    line: Line | None
    """Where the lamp is, if a guard can drive it by itself; else it ends the keeper, and the lamp with it."""

    def lamp(self, on: bool) -> int:
        """Switch the lamp; the ns of the monotonic clock when the line had changed."""

    def safelight(self, on: bool) -> None:
        """Switch the safelight, if there is one."""

    def sound(self, cue: int) -> None:
        """Start the sound of ``cue`` (messages.Cue)."""

    def inputs(self) -> Sequence[Any]:
        """What to wait for: files that become readable when ``serve`` has something to do."""

    def pedal_edges(self) -> list[tuple[bool, int]]:
        """Edges of the footswitch since the last call, in order: closed or open, and when (ns). There may be none."""

    def close(self) -> None:
        """Lamp off, lines let go. May be called twice."""
