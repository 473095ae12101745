"""Tests that wait to be read: strips and rings of this evening or of days ago, each opened where it is looked back at."""

from textual.app import ComposeResult
from textual.widgets import Static

from timer.errors import LamphouseError
from timer.notebook.rows import TestSheet
from tui.page import Page, first_shown
from tui.pages import of_test
from tui.widgets.lines import cut


class ToRead(Page):
    """A row a test, the newest first, with the print that it was made for."""

    phase = "TO READ"

    def body(self) -> ComposeResult:
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        if self.context.to_chosen:  # one was read: on to the print that came of it
            self.context.go_back()
            return
        self.at = getattr(self, "at", 0)
        self._read()

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    def _read(self) -> None:
        try:
            self.rows: list[TestSheet] = self.context.darkroom.archive.tests_to_read()
        except LamphouseError as error:
            self.rows = []
            self.context.report(str(error))
        self._draw()

    def _draw(self) -> None:
        if not self.is_attached:
            return
        self.at = max(0, min(self.at, len(self.rows) - 1))
        height = max(1, (self.size.height - 6) // 2)
        first = first_shown(self.at, len(self.rows), height)
        lines = []
        for n, row in list(enumerate(self.rows))[first : first + height]:
            target = row.recipe
            title = target.title if target else row.negative
            lines.append(f"{'>' if n == self.at else ' '} {row.run:4}  {row.begun[5:16].replace('T', ' ')}  {row.title}")
            lines.append(f"        made for: {title or 'no print'}")
        lines = [cut(line, self.size.width) for line in lines]
        self.query_one("#list", Static).update("\n".join(lines) or "No test waits to be read.")
        if self.rows:
            self.next_action("Enter: read it\nup down: choose   x: it needs no reading   q: back")
        else:
            self.next_action("Enter: back")

    def pressed(self, key: str) -> bool:
        match key:
            case "up" | "down" if self.rows:
                self.at = (self.at + (1 if key == "down" else -1)) % len(self.rows)
                self._draw()
            case "x" if self.rows:
                self._done()
            case "enter":
                self._open()
            case _:
                return False
        return True

    def _open(self) -> None:
        context = self.context
        if not self.rows:
            return context.go_back()
        run = self.rows[self.at].run
        try:
            test = context.darkroom.archive.test(run)
        except LamphouseError as error:
            return context.report(str(error))
        return context.show(of_test(test, run), test, run)

    def _done(self) -> None:
        if self.context.paper_out:
            return self.context.report("paper is out: cover it first")
        try:
            self.context.darkroom.archive.mark_read(self.rows[self.at].run)
        except LamphouseError as error:
            self.context.report(str(error))
        return self._read()
