"""Help: the keys, on a page of its own."""

from textwrap import wrap

from textual import events
from textual.app import ComposeResult
from textual.widgets import Static

from tui.page import HELP, KEYS_HELP, LeafPage

NARROW = 56
"""Below this width there is no column of keys."""


class Help(LeafPage):
    """All keys; and what each that is pressed is called."""

    phase = HELP
    first = 0
    called = ""

    def body(self) -> ComposeResult:
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        self.call_after_refresh(self._draw)

    def on_resize(self) -> None:
        super().on_resize()
        self.call_after_refresh(self._draw)

    def _lines(self, width: int) -> list[str]:
        if width < NARROW:
            return [line for key, what in KEYS_HELP for line in wrap(f"{key}: {what}", width, subsequent_indent="   ")]
        wide = max(len(key) for key, _ in KEYS_HELP)
        return [f"{key:{wide}}  {what}" for key, what in KEYS_HELP]

    def _draw(self) -> None:
        if not self.is_attached:
            return
        place = self.query_one("#list", Static)
        lines, height = self._lines(place.size.width or 80), self.height
        self.first = max(0, min(self.first, len(lines) - height))
        place.update("\n".join(lines[self.first : self.first + height]))
        more = "   up down: more" if len(lines) > height else ""
        self.next_action(f"Enter: back{more}\n{self.called}")

    def pressed(self, key: str) -> bool:
        moves = {"up": -1, "down": 1, "pageup": -self.height, "pagedown": self.height}
        if key not in moves:
            return super().pressed(key)
        self.first += moves[key]
        self._draw()
        return True

    @property
    def height(self) -> int:
        """Rows that are seen at once."""
        return max(1, self.query_one("#list").size.height)

    def on_key(self, event: events.Key) -> None:
        """What a key is called, for ``pedal_key`` in the settings; it does what it does all the same."""
        super().on_key(event)
        if self.app.screen is self:
            self.called = f"that key is called {event.key}"
            self._draw()
