"""The terminal around the cells: its own colours and palette, its cursor, the page beneath, and how many colours it has.

A full-screen program draws on a page of the terminal's that lies over the one it was called from (xterm's private mode
1049). When it ends, or is ended, that one shows again: so it is put in the room's light too, before a box is opened.
"""

import re
from collections.abc import Mapping
from enum import Enum

from tui.rooms import Room

OVER, UNDER = "\x1b[?1049h", "\x1b[?1049l"
"""To the page of its own; back to the one beneath."""
HIDE_CURSOR, SHOW_CURSOR = "\x1b[?25l", "\x1b[?25h"
_ERASE = "\x1b[2J\x1b[3J\x1b[H"
_END = "\x1b\\"  # never a bell: on a terminal that does not know the rest, it would ring or flash

_ONE_COLOUR = re.compile(r".*-(m|mono)|vt(52|[1-4]\d\d)([-+].*)?")
"""Names of terminals whose one colour is white, green or amber, as terminfo(5) has them: their "red" would be that."""


class Depth(Enum):
    """Colours: any; a table of 256; a palette of 16 which its themes define; none that can be told."""

    ANY = "any"
    TABLE = "256"
    PALETTE = "16"
    NONE = "none"


def depth_of(environ: Mapping[str, str]) -> Depth:
    """By COLORTERM and TERM, as Rich reads them; but of one that has no colours by its name none is believed."""
    term = environ.get("TERM", "").strip().lower()
    if term in ("dumb", "unknown", "") or _ONE_COLOUR.fullmatch(term):
        return Depth.NONE
    if environ.get("COLORTERM", "").strip().lower() in ("truecolor", "24bit"):
        return Depth.ANY
    return Depth.TABLE if term.rpartition("-")[2] in ("256color", "kitty") else Depth.PALETTE


def can_dim(environ: Mapping[str, str]) -> bool:
    """Whether a red of ours is the red that is shown: a palette of 16 has its own, but for the Linux console's."""
    return environ.get("TERM") == "linux" or depth_of(environ) in (Depth.ANY, Depth.TABLE)


def in_room(room: Room, red: int, environ: Mapping[str, str]) -> str:
    """The terminal's own colours in the light of ``room``: of text, page, cursor, and the palette of 16.

    Then whatever is written by another program, a shell's prompt after this one has ended, is in them too.
    """
    if room is Room.WHITE:
        return as_before(environ)
    lit = red if room is Room.RED else 0
    if environ.get("TERM") == "linux":  # console_codes(4): ESC ] P nrrggbb
        return "\x1b]P0000000" + "".join(f"\x1b]P{n:X}{lit:02x}0000" for n in range(1, 16)) + HIDE_CURSOR
    colour = f"#{lit:02x}0000"
    palette = ";".join(f"{n};{colour if n else '#000000'}" for n in range(16))
    own = "".join(f"\x1b]{code}{_END}" for code in (f"10;{colour}", "11;#000000", f"12;{colour}", f"4;{palette}"))
    return own + HIDE_CURSOR


def as_before(environ: Mapping[str, str]) -> str:
    """The terminal's own colours as its user has them."""
    if environ.get("TERM") == "linux":
        return "\x1b]R"
    return "".join(f"\x1b]{code}{_END}" for code in (110, 111, 112, 104))


def empty_page(room: Room, red: int, environ: Mapping[str, str]) -> str:
    """The page that is shown, cleared, in colours that are named one by one: a theme's "red" and "black" may be neither."""
    lit = red if room is Room.RED else 0
    match depth_of(environ):
        case Depth.ANY:
            colours = f"38;2;{lit};0;0;48;2;0;0;0"
        case Depth.TABLE:
            colours = f"38;5;{_in_table(lit)};48;5;16"
        case _:
            colours = f"{31 if lit else 30};40"  # all there is; ``in_room`` has made them red and black where it can
    return f"\x1b[0;{colours}m{_ERASE}"


def going_dark(room: Room, red: int, environ: Mapping[str, str]) -> str:
    """Everything that this terminal can show, in the light of ``room``: its colours, this page and the one beneath."""
    page = empty_page(room, red, environ)
    return in_room(room, red, environ) + page + UNDER + page + OVER + page


def _in_table(red: int) -> int:
    """The colour cube's entry for a pure red: 0, 95, 135, 175, 215, 255 (xterm's 256 colours)."""
    steps = (0, 95, 135, 175, 215, 255)
    return 16 + 36 * min(range(6), key=lambda n: abs(steps[n] - red))
