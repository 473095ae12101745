"""Help: the keys, on a page of its own."""

from textual.app import ComposeResult
from textual.widgets import Static

from tui.page import KEYS_HELP, LeafPage


class Help(LeafPage):
    phase = "KEYS"

    def body(self) -> ComposeResult:
        wide = max(len(key) for key, _ in KEYS_HELP)
        yield Static("\n".join(f"{key:{wide}}  {what}" for key, what in KEYS_HELP), id="list", markup=False)

    def begin(self) -> None:
        self.next_action("Enter: back")
