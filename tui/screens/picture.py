"""A picture of the sheet in half blocks, from the bench. With white light only: its cells are every colour."""

from rich.style import Style
from rich.text import Text
from textual.app import ComposeResult
from textual.widgets import Static

from timer.app.jobs import Job
from timer.app.preview import picture_that_fits
from timer.errors import LamphouseError
from tui.page import LeafPage
from tui.widgets.canvas import hex_of


class Picture(LeafPage):
    """Drawn after the page is there: it takes its time."""

    phase = "PICTURE"

    def __init__(self, job: Job) -> None:
        super().__init__()
        self.job = job

    def body(self) -> ComposeResult:
        yield Static(id="picture", markup=False)

    def begin(self) -> None:
        self.next_action(f"{self._of}: drawing")
        self.call_after_refresh(self._draw)

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    @property
    def _of(self) -> str:
        own = self.job.recipe.picture if self.job.recipe else ""
        return f"from your picture, {own}" if own else "a built-in sample picture, not your negative"

    def _draw(self) -> None:
        self.next_action(f"{self._of}\nEnter: back")
        try:
            rows, paper = picture_that_fits(self.job, max(16, self.size.width), max(4, self.size.height - 4))
            self.next_action(f"{self._of}\nEnter: back{f'; {paper}' if paper else ''}")
        except LamphouseError as error:
            self.query_one("#picture", Static).update("")
            return self.context.report(str(error))
        text = Text(no_wrap=True)
        for row in rows:
            for upper, lower in row:
                text.append("▀", Style(color=hex_of(upper), bgcolor=hex_of(lower)))
            text.append("\n")
        return self.query_one("#picture", Static).update(text)
