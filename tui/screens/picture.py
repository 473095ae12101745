"""A picture of the sheet in half blocks, from the bench. With white light only: its cells are every colour."""

from rich.style import Style
from rich.text import Text
from textual.app import ComposeResult
from textual.widgets import Static

from timer.app.jobs import Job, picture_rows
from tui.page import LeafPage


class Picture(LeafPage):
    """Drawn after the page is there: it takes its time."""

    phase = "PICTURE"

    def __init__(self, job: Job) -> None:
        super().__init__()
        self.job = job

    def body(self) -> ComposeResult:
        yield Static(id="picture", markup=False)

    def begin(self) -> None:
        self.next_action("a built-in sample picture, not your negative: drawing")
        self.call_after_refresh(self._draw)

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        rows = picture_rows(self.job, max(16, self.size.width), max(4, self.size.height - 3))
        text = Text(no_wrap=True)
        for row in rows:
            for upper, lower in row:
                text.append("▀", Style(color=_hex(upper), bgcolor=_hex(lower)))
            text.append("\n")
        self.query_one("#picture", Static).update(text)
        self.next_action("a built-in sample picture, not your negative\nEnter: back")


def _hex(colour: tuple[int, ...]) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)
