"""Unfinished sheets: each stays listed until it is finished, or given up with ``g``."""

from textual.app import ComposeResult
from textual.widgets import Static

from timer.documents.recipe import PAPERS
from timer.errors import LamphouseError
from timer.notebook.light import Light, booked, full_seconds, range_text
from timer.notebook.rows import RunRow
from tui.page import Page, first_shown
from tui.widgets.lines import cut, fitted

WIDE = 72
"""From this width on a row has its date and paper."""

SHARES = (("its middle, if it is narrow", None), ("its least", 0.0), ("its middle", 0.5), ("its most", 1.0))
"""Where the light given is only known to lie in a range: which point of it to count with."""
LEAST_HAD, AROUND_HAD = 5, 4
"""Rows for the light that a sheet had, at least; and those around them, of which the last may take two."""


class Unfinished(Page):
    """A list; Enter gives the rest of the sheet that is marked."""

    phase = "UNFINISHED"
    guarded = frozenset({"g"})

    def body(self) -> ComposeResult:
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        self.at = self.share = 0
        self.asked = False
        self._read()

    def on_resize(self) -> None:
        super().on_resize()
        self.call_after_refresh(self._draw)

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
        body = self.query_one("#body").size.height or self.size.height - 4
        height = max(1, min(len(self.rows), body - LEAST_HAD - AROUND_HAD))
        first = first_shown(self.at, len(self.rows), height)
        lines = []
        for n, row in list(enumerate(self.rows))[first : first + height]:
            lies = "   PAPER OUT" if row.id in out else ""
            begun = row.begun[5:16].replace("T", " ")
            made = f"{begun} {PAPERS.get(row.paper, ''):15} " if self.size.width >= WIDE else ""
            begins = f"{'>' if n == self.at else ' '} {row.id:4} {made}"
            lines.append(f"{begins}{cut(row.title, max(8, self.size.width - len(begins) - len(lies)))}{lies}")
        if self.rows:
            lines += [
                "",
                *self._had(self.rows[self.at], max(LEAST_HAD, body - height - AROUND_HAD)),
                "",
                f"where only a range of light is known (1.1 to 1.3 s), count with {SHARES[self.share][0]}",
            ]
        self.query_one("#list", Static).update("\n".join(lines) or "No sheet is unfinished.")
        if self.asked and self.rows:
            sheet = self.rows[self.at].id
            self.next_action(f"Give sheet {sheet} up? It will not be offered again.\ny: yes   any other key: no")
        elif self.rows and self.size.width < WIDE:
            self.next_action("Enter: give the missing light\ng give up  <-> range  up down  q back")
        elif self.rows:
            self.next_action(
                "Enter: give the missing light   g: give it up   q: back\nup down: choose   left right: least, middle, most"
            )
        else:
            self.next_action("Enter: back")

    def _had(self, row: RunRow, most: int) -> list[str]:
        """What the notebook has of the light that each exposure of its plan was given; those not begun too. Of more than
        ``most`` those around the one that it ended in, and how many others there are."""
        try:
            rows = self.context.darkroom.archive.exposures(row.id)
        except LamphouseError as error:
            return [f"    {error}"]
        had: dict[int, tuple[float, float | None]] = {}
        for e in rows:
            low, high = full_seconds(booked(e) or Light(e.seen_us, None, ""), row.response, e.dose_s)
            so_far = had.get(e.step, (0.0, 0.0))
            had[e.step] = (so_far[0] + low, None if high is None or so_far[1] is None else so_far[1] + high)
        asked = [(n, step) for n, step in enumerate(row.plan.steps) if step.do == "expose"]
        begun = sum(n <= max(had, default=-1) for n, _ in asked)
        first, end = 0, len(asked)
        head = [f"    of what sheet {row.continues} was missing:"] if row.continues else []
        most -= len(head)
        if len(asked) > most:
            most = max(1, most - 2)
            first = first_shown(begun, len(asked), most)
            end = first + most
        before = [f"    … {first} before these, all given"] if first else []
        after = [f"    … and {len(asked) - end} more, not begun"] if end < len(asked) else []
        wide = 18 if self.size.width >= WIDE else 10
        lines = [
            f"    {fitted(step.area, wide)} had {range_text(*had.get(n, (0.0, 0.0)))} of {step.seconds:.2f} s"
            for n, step in asked[first:end]
        ]
        return [*head, *before, *lines, *after]

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
            return self.context.report("another sheet is out: cover it first, then finish this one")
        return self.context.give_rest(row, SHARES[self.share][1])
