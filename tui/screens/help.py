"""Help: the keys, on a page of its own."""

from textual import events
from textual.app import ComposeResult
from textual.widgets import Static

from tui.page import HELP, KEYS_HELP, LeafPage


class Help(LeafPage):
    """All keys; and what each that is pressed is called."""

    phase = HELP

    def body(self) -> ComposeResult:
        wide = max(len(key) for key, _ in KEYS_HELP)
        yield Static("\n".join(f"{key:{wide}}  {what}" for key, what in KEYS_HELP), id="list", markup=False)

    def begin(self) -> None:
        self.next_action("Enter: back")

    def on_key(self, event: events.Key) -> None:
        """What a key is called, for ``pedal_key`` in the settings; it does what it does all the same."""
        super().on_key(event)
        if self.app.screen is self:
            self.next_action(f"Enter: back   the key just pressed is called {event.key}")
