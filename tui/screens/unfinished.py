"""Unfinished sheets: every one of them, till it has what it lacks or is given up by a word of its own."""

from textual.app import ComposeResult
from textual.widgets import Static

from timer.documents.recipe import PAPERS
from timer.errors import LamphouseError
from timer.notebook.rows import RunRow
from tui.page import Page

SHARES = (("the middle, if it is narrow", None), ("the least", 0.0), ("the middle", 0.5), ("the most", 1.0))
"""Where the light given is only known to lie in a range: which point of it to believe."""


class Unfinished(Page):
    """A list; Enter gives the rest of the sheet that is marked."""

    phase = "UNFINISHED"

    def body(self) -> ComposeResult:
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        self.at = self.share = 0
        self.asked = False
        self._read()

    def _read(self) -> None:
        try:
            self.rows: list[RunRow] = self.context.darkroom.archive.unfinished()
        except LamphouseError as error:
            self.rows = []
            self.context.report(str(error))
        self.at = max(0, min(self.at, len(self.rows) - 1))
        self._draw()

    def _draw(self) -> None:
        out = {paper.run for paper in self.context.darkroom.out}
        height = max(1, self.size.height - 14)
        first = max(0, min(self.at - height // 2, len(self.rows) - height))
        lines = []
        for n, row in list(enumerate(self.rows))[first : first + height]:
            lies = "   LIES OUT" if row.id in out else ""
            begun = row.begun[5:16].replace("T", " ")
            lines.append(
                f"{'>' if n == self.at else ' '} {row.id:4} {begun} {PAPERS.get(row.paper, ''):15} {row.title}{lies}"
            )
        if self.rows:
            lines += [
                "",
                *self._had(self.rows[self.at]),
                "",
                f"if only a range of light is known, count with {SHARES[self.share][0]}",
            ]
        self.query_one("#list", Static).update("\n".join(lines) or "No sheet is unfinished.")
        if self.asked and self.rows:
            sheet = self.rows[self.at].id
            self.next_action(f"Give sheet {sheet} up? What it lacks is not offered again.\ny: yes   any other key: no")
        elif self.rows:
            self.next_action(
                "Enter: give what it lacks   g: give it up   q: back\nup down: choose   left right: least, middle, most"
            )
        else:
            self.next_action("Enter: back")

    def _had(self, row: RunRow) -> list[str]:
        """What the notebook has of its light, an exposure a line."""
        try:
            rows = self.context.darkroom.archive.exposures(row.id)[-6:]
        except LamphouseError as error:
            return [f"    {error}"]
        lines = []
        for e in rows:
            low = (e.low_us or e.seen_us) / 1e6
            if e.high_us is None:
                had = f"{low:.2f} s or more"
            else:
                had = f"{low:.2f} s" if e.low_us == e.high_us else f"{low:.2f} to {e.high_us / 1e6:.2f} s"
            lines.append(f"    {e.label:18} had {had}, of {e.asked_s:.2f} s")
        return lines or ["    no light in this run yet: the sheet still lacks what it lacked before"]

    def pressed(self, key: str) -> bool:
        if self.asked:
            self.asked = False
            if key == "y":
                self._give_up()
            self._draw()
            return True
        match key:
            case "up" | "down" if self.rows:
                self.at = (self.at + (1 if key == "down" else -1)) % len(self.rows)
            case "left" | "right":
                self.share = (self.share + (1 if key == "right" else -1)) % len(SHARES)
            case "g" if self.rows:
                self.asked = True
            case "enter":
                self._rest()
                return True
            case _:
                return False
        self._draw()
        return True

    def _give_up(self) -> None:
        try:
            self.context.darkroom.give_up(self.rows[self.at])
        except LamphouseError as error:
            self.context.report(str(error))
        self._read()

    def _rest(self) -> None:
        if not self.rows:
            return self.context.go_back()
        row = self.rows[self.at]
        if {paper.run for paper in self.context.darkroom.out} - {row.id, None}:
            return self.context.report("another sheet lies out: cover it first, then this one")
        return self.context.give_rest(row, SHARES[self.share][1])
