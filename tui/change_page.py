"""A print changed, row by row: what is chosen, what comes of it, and one key to write it as a recipe of its own."""

from __future__ import annotations

from typing import Generic, TypeVar

from textual.app import ComposeResult
from textual.widgets import Static

from timer.app.jobs import Job
from timer.errors import LamphouseError
from timer.plans.recipe_change import RecipeChange, described
from tui.page import NOT_WRITTEN
from tui.typing_page import TypingPage

Choice = TypeVar("Choice")
"""What is chosen in all rows: frozen, so that one that was taken back is as it was."""


class ChangePage(TypingPage, Generic[Choice]):
    """Rows of a name and a value: up and down choose the row, left and right change it, Enter writes it."""

    word = "new"

    def __init__(self, job: Job, now: Choice) -> None:
        super().__init__()
        assert job.recipe
        self.job, self.recipe = job, job.recipe
        self.now = self.opened = now
        self.before: list[Choice] = []
        self.at = 0
        self.good = False
        self.says = ""

    def body(self) -> ComposeResult:
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        self._draw()

    @property
    def unwritten(self) -> bool:
        """As of every page: what is chosen."""
        return self.now != self.opened

    def rows(self) -> list[tuple[str, str]]:
        """What can be chosen: (name, value) each."""
        raise NotImplementedError

    def nudged(self, row: str, by: int) -> Choice:
        """The choice with ``row`` changed by one to the left (-1) or to the right (1)."""
        raise NotImplementedError

    def target(self) -> RecipeChange | None:
        """The change that is asked for; None while there is none."""
        raise NotImplementedError

    def outcome(self) -> list[str]:
        """The result of what is asked for, in words; empty while nothing is. LamphouseError when it cannot be made."""
        target = self.target()
        if not target:
            return []
        moved = self.context.darkroom.book.derived(self.job, target)
        return [*moved.says, *(f"- {line}" for line in moved.advice)]

    def written(self) -> Job | None:
        """Write the new recipe; None when nothing was asked for."""
        target = self.target()
        return self.context.darkroom.book.write_derived(self.job, target, self.word) if target else None

    def more(self) -> list[str]:
        """Lines below what comes of it."""
        return []

    def other_ways(self) -> str:
        """Keys of this page's own, for its foot."""
        return ""

    def change(self, now: Choice) -> None:
        """Choose ``now``; what was chosen before can be taken back."""
        if now != self.now:
            self.before.append(self.now)
            self.now = now

    # ── how it looks ─────────────────────────────────────────────────────────

    def _draw(self) -> None:
        if not self.is_attached:
            return
        rows = self.rows()
        self.at = min(self.at, len(rows) - 1)
        lines = [f"{self.recipe.title}: {described(self.recipe)}", ""]
        lines += [f"{'>' if n == self.at else ' '} {name:10} {value}" for n, (name, value) in enumerate(rows)]
        outcome, self.good = self._judged()
        self.query_one("#list", Static).update("\n".join([*lines, *outcome, *self.more()]))
        self._foot()

    def _judged(self) -> tuple[list[str], bool]:
        """What comes of what is chosen, or why nothing can; and whether it can be written."""
        if self.says:
            return ["", self.says], self.good
        try:
            outcome = self.outcome()
        except LamphouseError as error:
            return ["", str(error)], False
        return (["", *outcome], True) if outcome else ([], False)

    def _foot(self) -> None:
        if self.entry:
            return self.next_action(self.entry_foot())
        if self.context.paper_out:
            return self.next_action(f"PAPER IS OUT: to be read only, nothing is written\n{self._keys()}")
        if self.leaving:
            return self.next_action(NOT_WRITTEN)
        if self.good:
            enter = "Enter: write it as a recipe of its own"
        else:
            enter = "it cannot be written so: see above" if self.unwritten else "Enter: back, nothing changed"
        return self.next_action(f"{enter}\n{self._keys()}")

    def _keys(self) -> str:
        own = self.other_ways()
        keys = f"up down: choose   left right: change   {own}u: undo   q: back"
        return (
            keys if len(keys) <= self.size.width else f"arrows  {own.replace(': ', ' ').replace('   ', '  ')}u undo  q back"
        )

    # ── keys ─────────────────────────────────────────────────────────────────

    def _act(self, key: str) -> bool:
        rows, self.says = self.rows(), ""
        match key:
            case "up" | "down":
                self.at = (self.at + (1 if key == "down" else -1)) % len(rows)
            case "left" | "right":
                self.change(self.nudged(rows[self.at][0], 1 if key == "right" else -1))
            case "u" if self.before:
                self.now = self.before.pop()
            case "u":
                self.says = "nothing more to take back"
            case "enter":
                self._write()
            case _:
                return False
        return True

    def _write(self) -> None:
        context = self.context
        if context.paper_out:
            return context.report("paper is out: cover it first")
        if self.unwritten and not self.good:
            return context.report("it cannot be written so: see what it says, or q to leave it")
        try:
            made = self.written() if self.good else None
        except LamphouseError as error:
            return context.report(str(error))
        if made:
            context.chosen = made
        return context.go_back()
