"""Room light: what the screen may shine, by the paper that is out, over every cell and colour the terminal has.

Red fogs colour paper: only ``silver`` (black-and-white) bears it. For ra4 and pan the screen is dark.
"""

import fcntl
import os
from collections.abc import Sequence
from contextlib import suppress
from enum import Enum
from functools import lru_cache
from pathlib import Path

from rich.color import Color as RichColor
from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.filter import LineFilter

from timer.text import for_cells


class Room(Enum):
    WHITE = "white"
    RED = "red"
    NONE = "none"


LEVELS = (0x66, 0x88, 0xAA, 0xCC, 0xFF)
"""Red of what is lit, dimmest first. Below 0x66 a 16-colour console would show nothing."""
_BLACK = RichColor.from_rgb(0, 0, 0)


def room_for(paper: str) -> Room:
    """The room light that ``paper`` (silver, ra4, pan) bears when it is out; unknown paper bears none."""
    return Room.RED if paper == "silver" else Room.NONE


class PlainFilter(LineFilter):
    """For white light: every colour passes, but no text acts on the terminal, whatever a title or a file name holds."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        return [Segment(for_cells(text), style, control) for text, style, control in segments]


class RoomFilter(LineFilter):
    """Every cell red on black, black on red, or all black. One instance a room and level: caches key on it."""

    def __init__(self, room: Room, level: int) -> None:
        super().__init__()
        self._room, self._red = room, LEVELS[level]

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


# ── the terminal and the machine around the cells ────────────────────────────


def terminal_codes(room: Room, level: int, term: str) -> str:
    """Escape codes that take the terminal's own colours along: what it shows where no cell is drawn.

    On the Linux console all 16 palette entries are remapped (``ESC ] P``), elsewhere the default colours (OSC 10, 11).
    """
    if term == "linux":
        if room is Room.WHITE:
            return "\x1b]R"
        red = f"{LEVELS[level]:02x}0000" if room is Room.RED else "000000"
        return "\x1b]P0000000" + "".join(f"\x1b]P{n:X}{red}" for n in range(1, 16))
    if room is Room.WHITE:
        return "\x1b]110\x07\x1b]111\x07"
    red = f"#{LEVELS[level]:02x}0000" if room is Room.RED else "#000000"
    return f"\x1b]10;{red}\x07\x1b]11;#000000\x07"


def leaving_codes(room: Room, term: str) -> str:
    """What to leave the terminal in when the program ends with paper out: cleared, and in the room's own light."""
    if room is Room.WHITE:
        return terminal_codes(room, 0, term)
    front = "31" if room is Room.RED else "30"
    return terminal_codes(room, 0, term) + f"\x1b[0;{front};40m\x1b[2J\x1b[3J\x1b[H"


def blank_console(blank: bool) -> None:
    """Blank or show a Linux virtual console; nothing elsewhere. ioctl TIOCLINUX, console_ioctl(2)."""
    tioclinux, unblank, blank_now = 0x541C, 4, 14
    try:
        fd = os.open("/dev/tty", os.O_RDWR | os.O_NOCTTY)
    except OSError:
        return
    try:
        fcntl.ioctl(fd, tioclinux, bytes([blank_now if blank else unblank]))
    except OSError:
        pass
    finally:
        os.close(fd)


class Shine:
    """Backlight and board LEDs under /sys/class, where they may be written; put back as they were found."""

    def __init__(self, root: Path = Path("/sys/class")) -> None:
        self._root = root
        self._found: dict[Path, str] = {}

    def lights(self) -> list[str]:
        """What else on this machine shines, for the lights check."""
        return sorted(p.parent.name for kind in ("backlight", "leds") for p in self._root.glob(f"{kind}/*/brightness"))

    def set(self, room: Room, level: int) -> None:
        if room is Room.WHITE:
            self.restore()
            return
        for path in self._root.glob("backlight/*/brightness"):
            most = _read(path.parent / "max_brightness") or "255"
            share = (level + 1) / len(LEVELS) if room is Room.RED else 0
            self._write(path, str(int(int(most) * share / 2)))
        for path in self._root.glob("leds/*/trigger"):
            self._write(path, "none")
        for path in self._root.glob("leds/*/brightness"):
            self._write(path, "0")

    def restore(self) -> None:
        for path, value in reversed(self._found.items()):
            with suppress(OSError):
                path.write_text(value)
        self._found.clear()

    def _write(self, path: Path, value: str) -> None:
        before = _read(path)
        if before is None or not os.access(path, os.W_OK):
            return
        self._found.setdefault(path, _chosen(before))
        with suppress(OSError):
            path.write_text(value)


def _chosen(text: str) -> str:
    """A trigger file lists all and brackets the one in force; others hold the plain value."""
    marked: Sequence[str] = [word for word in text.split() if word.startswith("[")]
    return marked[0].strip("[]") if marked else text.strip()


def _read(path: Path) -> str | None:
    try:
        return path.read_text().strip()
    except OSError:
        return None
