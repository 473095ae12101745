"""A page on which a line is typed now and then, a key at a time."""

from collections.abc import Callable

from timer.errors import LamphouseError
from tui.entry_line import LONGEST, EntryLine
from tui.page import Page

ENDS = "Enter: done   Esc: as it was"


class TypingPage(Page):
    """``_act`` has the page's own keys while nothing is typed; what was typed goes to whoever asked for it."""

    def __init__(self) -> None:
        super().__init__()
        self.entry: EntryLine | None = None
        self._asker: Callable[[str], None] = lambda text: None
        self._finds = False

    def ask(self, what: str, take: Callable[[str], None], text: str = "", most: int = LONGEST) -> None:
        """Begin to type ``what``, from ``text`` on; Enter gives it to ``take``, Escape leaves all as it was.

        What ``take`` refuses (ValueError, LamphouseError) stays to be mended, with its sentence above it.
        """
        self.entry, self._asker, self.typing, self._finds = EntryLine(what, text, most), take, True, False
        self.refused = ""

    def ask_for_words(self, what: str, find: Callable[[str], None]) -> None:
        """Begin to type words to look for; ``find`` is given them at every letter, none at Escape; with paper out too."""
        self.ask(what, find)
        self._finds = True
        find("")

    def entry_foot(self, more: str = "", ends: str = ENDS) -> str:
        """What is typed so far, and below it how it ``ends``, and ``more`` where there is room; for the foot of the page."""
        assert self.entry
        below = f"{ends}{more}" if len(ends) + len(more) <= self.size.width else ends
        return f"{self.entry.shown(self.size.width)}\n{below}"

    def _end_entry(self) -> None:
        """Nothing is typed any more, and nothing taken."""
        self.entry, self.typing, self.refused = None, False, ""

    def _typed(self, key: str) -> None:
        """A key that belongs to the line that is typed; with paper out nothing more is."""
        assert self.entry
        if key == "enter":
            self._give(self.entry)
        elif key == "escape" or (self.context.paper_out and not self._finds):
            if self._finds:
                self._asker("")
            self._end_entry()
        else:
            self.entry = self.entry.came(key)
            if self._finds:
                self._asker(self.entry.text)

    def _give(self, entry: EntryLine) -> None:
        """What was typed, to whoever asked for it."""
        self._end_entry()
        try:
            self._asker(entry.text.strip())
        except (ValueError, LamphouseError) as error:
            self.entry, self.typing, self.refused = entry, True, str(error)
            self.context.sound.cue("refused")

    def leave(self) -> None:
        """As a page does; what is just typed is not taken."""
        self._end_entry()
        super().leave()

    def _act(self, key: str) -> bool:
        """As ``pressed``, while nothing is typed."""
        return False

    def pressed(self, key: str) -> bool:
        if self.entry:
            self._typed(key)
        elif not self._act(key):
            return False
        self._draw()
        return True
