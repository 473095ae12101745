"""Room light over every cell: pure red and black, or black alone, whatever a widget wants to show.

What the terminal shows around the cells is told by ``tui.terminal``; what else the machine shines, by ``tui.shine``.
"""

from functools import lru_cache

from rich.color import Color as RichColor
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter

from timer.text import for_cells
from tui.rooms import Room, red_of, shown

_BLACK = RichColor.from_rgb(0, 0, 0)


class PlainFilter(LineFilter):
    """For white light: every colour passes, but no text acts on the terminal, whatever a title or a file name holds."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        return [Segment(for_cells(text), style, control) for text, style, control in segments]


class RoomFilter(LineFilter):
    """Every cell red on black, black on red, or all black. One instance a room and level: caches key on it."""

    def __init__(self, room: Room, level: int) -> None:
        super().__init__()
        self._room, self._red = shown(room, level), red_of(level)

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        if self._room is Room.NONE:
            return [Segment(" " * segment.cell_length, _dark(), None) for segment in segments]
        return [Segment(for_cells(text), _reddened(style or Style(), self._red), None) for text, style, _ in segments]


@lru_cache(1)
def _dark() -> Style:
    return Style(color=_BLACK, bgcolor=_BLACK)


@lru_cache(4096)
def _reddened(style: Style, level: int) -> Style:
    """``style`` in pure red and black, the brighter of its two red. No attribute that a terminal may colour."""
    front, back = _light(style.color, 255), _light(style.bgcolor, 0)
    if style.reverse:
        front, back = back, front
    red = RichColor.from_rgb(level, 0, 0)
    inverse = back > front and back > 96
    return Style(color=_BLACK if inverse else red, bgcolor=red if inverse else _BLACK)


def _light(color: RichColor | None, default: int) -> int:
    if color is None or color.is_default:
        return default
    red, green, blue = color.get_truecolor()
    return max(red, green, blue)
