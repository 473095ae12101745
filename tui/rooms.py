"""The three room lights, and how bright red is; without Textual, so that a start can be dark at once."""

from collections.abc import Sequence
from enum import Enum

from timer.notebook.rows import PaperOut, bears_red


class Room(Enum):
    """The light that the screen may give: any, red alone, or none."""

    WHITE = "white"
    RED = "red"
    NONE = "none"


LEVELS = (0x66, 0x88, 0xAA, 0xCC, 0xFF)
"""Red of what is lit, dimmest first. Below 0x66 a 16-colour console would show nothing."""
BLACK = len(LEVELS)
"""The level at which a red room's screen shows nothing: for those who would rather not trust a panel's red."""


def room_for(out: Sequence[PaperOut]) -> Room:
    """The room light that is safe for all the paper that is ``out``. Red fogs colour paper, and any that is not known."""
    if not out:
        return Room.WHITE
    return Room.RED if bears_red(out) else Room.NONE


def shown(room: Room, level: int) -> Room:
    """What of ``room`` the screen shows at ``level``."""
    return Room.NONE if room is Room.RED and level == BLACK else room


def red_of(level: int) -> int:
    """Red of what is lit at ``level``; 0 at BLACK."""
    return 0 if level == BLACK else LEVELS[level]
