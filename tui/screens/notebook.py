"""The notebook: what was made, newest first, and the light of the one chosen."""

from textual.app import ComposeResult
from textual.widgets import Static

from timer.errors import LamphouseError
from timer.notebook.store import RunRow
from tui.page import Page


class NotebookPage(Page):
    phase = "NOTEBOOK"

    def body(self) -> ComposeResult:
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        self.at = 0
        try:
            self.rows: list[RunRow] = self.house.desk.runs()
        except LamphouseError as error:
            self.rows = []
            self.house.report(str(error))
        self._draw()

    def _draw(self) -> None:
        height = max(3, self.size.height - 9)
        first = max(0, min(self.at - height // 2, len(self.rows) - height))
        lines = []
        for n, row in list(enumerate(self.rows))[first : first + height]:
            state = "interrupted" if row.state == "running" else row.state
            lines.append(
                f"{'>' if n == self.at else ' '} {row.id:4} {row.begun[5:16].replace('T', ' ')} {state:11} {row.title}"
            )
        if self.rows:
            lines.append("")
            lines += [
                f"    {e.label:18} {(e.low_us or 0) / 1e6:8.2f} s on  {e.why or 'no end known'}"
                for e in self.house.desk.exposures(self.rows[self.at].id)[-5:]
            ]
        self.query_one("#list", Static).update("\n".join(lines) or "Nothing yet: a strip or a print begins it.")
        self.next_action("up, down: choose   Enter: back")

    def pressed(self, key: str) -> bool:
        if key in ("up", "down"):
            self.at = max(0, min(len(self.rows) - 1, self.at + (1 if key == "down" else -1)))
            self._draw()
        elif key == "enter":
            self.house.go_back()
        else:
            return False
        return True
