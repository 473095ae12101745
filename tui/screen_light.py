"""The light that the screen gives: of its cells, of the terminal around them, and of what else shines on the machine."""

import os
from collections.abc import Sequence

from textual.filter import LineFilter

from timer.notebook.rows import SAFELIGHT_KINDS, PaperOut
from tui import terminal
from tui.room_light import PlainFilter, RoomFilter
from tui.rooms import BLACK, LEVELS, Room, red_of, room_for, shown
from tui.shine import Shine, blank_console


class ScreenLight:
    """``room`` is what is safe for the paper that is out; ``level`` is how bright red is in it, BLACK for nothing at all."""

    def __init__(self, shine: Shine) -> None:
        self.shine = shine
        self.room, self.level = Room.WHITE, 0
        self._plain = PlainFilter()
        self.filter: LineFilter = self._plain

    @property
    def seen(self) -> Room:
        """What the screen shows of the room's light."""
        return shown(self.room, self.level)

    def set(self, out: Sequence[PaperOut]) -> str:
        """Everything but the terminal in the light that is safe for the paper that is ``out``; the codes for that one."""
        before, self.room = self.room, room_for(out)
        white = self.room is Room.WHITE
        self.filter = self._plain if white else RoomFilter(self.room, self.level)
        self.shine.set(self.seen, (self.level + 1) / len(LEVELS))
        if os.environ.get("TERM") == "linux":
            blank_console(self.seen is Room.NONE)
        if white:
            return terminal.as_before(os.environ)
        begin = terminal.going_dark if before is Room.WHITE else terminal.in_room
        return begin(self.seen, red_of(self.level), os.environ)

    def brighter(self) -> None:
        """The next level of red, and after the last black; then the dimmest again. It counts when the light is ``set``."""
        steps = range(BLACK + 1) if terminal.can_dim(os.environ) else (0, BLACK)
        self.level = next((step for step in steps if step > self.level), 0)

    def never_black_unasked(self) -> None:
        """A box is opened: a red room begins with a screen that shows something."""
        self.level = 0 if self.level == BLACK else self.level

    def dark_codes(self) -> str:
        """What takes a terminal into the room's light before anything is drawn; nothing in white light."""
        if self.room is Room.WHITE:
            return ""
        return terminal.in_room(self.seen, red_of(self.level), os.environ) + self.dark_page()

    def dark_page(self) -> str:
        """An empty page in the room's light; nothing in white light."""
        return "" if self.room is Room.WHITE else terminal.empty_page(self.seen, red_of(self.level), os.environ)

    def cautions(self, kind: str, *, heard: bool) -> list[str]:
        """What to know before paper of ``kind`` is out: of a screen that cannot be trusted, and, when nothing here is
        ``heard``, of silence in the dark."""
        if kind in SAFELIGHT_KINDS:
            if terminal.can_dim(os.environ):
                return []
            return ["this terminal has its own 16 colours: its red cannot be dimmed; d makes it black"]
        found = []
        if not heard:
            found.append("NOTHING HERE CAN BE HEARD (no voice, tones, tone pin or bell; see docs/settings.md, sound)")
        if not self.shine.can_put_out_panel and os.environ.get("TERM") != "linux":
            found.append("the panel leaks light even when black: cover it or switch it off")
        return found
