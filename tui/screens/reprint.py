"""A sheet of the notebook made again: its plan first, as it was or at another size."""

from textual.widgets import Static

from timer.app.jobs import Job
from timer.app.sheet_view import shape_of
from timer.errors import LamphouseError
from timer.notebook.rows import RunRow
from tui.page import PlanPage
from tui.plan_rows import plan_rows
from tui.sheet_sizes import SIZE_LIKE, sizes_with, typed_size
from tui.typing_page import TypingPage
from tui.widgets.sheet import Sheet


class Reprint(TypingPage, PlanPage):
    """``job`` as it was made on ``row``, until another sheet is chosen."""

    phase = "REPRINT"

    def __init__(self, row: RunRow, job: Job) -> None:
        super().__init__()
        self.row = row
        self.as_it_was = self.job = job
        self.was = job.recipe.enlargement.sheet if job.recipe else ""
        self.sheet = self.was
        self.says: tuple[str, ...] = ()
        self.fault = ""

    def begin(self) -> None:
        self.call_after_refresh(self._draw)

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        if not self.is_attached:
            return None
        size = self.sheet or "size not known"
        how = "as it was" if self.sheet == self.was else f"taken from {self.was or 'a size that is not known'}"
        self.query_one("#choice", Static).update(f"sheet {self.row.id}: {self.row.title}\n< {size} >  {how}")
        notes = [self.fault] if self.fault else [*plan_rows(self.job.plan), "", *self.says, *self.job.plan.notes]
        self.query_one("#plan", Static).update("\n".join(notes))
        self.query_one("#sheet", Sheet).show(self.job.plan, self.job.recipe, shape=shape_of(self.job))
        if self.entry:
            return self.next_action(self.entry_foot())
        choose = "left right: another size   n: type it   q: back" if self.as_it_was.recipe else "q: back"
        if self.context.paper_out:
            return self.next_action(f"PAPER IS OUT: to be read only\n{choose}")
        return self.next_action(f"{'this size cannot be made' if self.fault else 'Enter: get ready'}\n{choose}")

    def pressed(self, key: str) -> bool:
        if self.entry:
            return super().pressed(key)
        match key:
            case "left" | "right" if self.as_it_was.recipe:
                self._resize(1 if key == "right" else -1)
            case "n" if self.as_it_was.recipe and not self.context.paper_out:
                self.ask(SIZE_LIKE, self._typed_size)
            case "enter":
                self._go()
                return True
            case _:
                return False
        self._draw()
        return True

    def _resize(self, by: int) -> None:
        sizes = sizes_with(self.was)
        self._to(sizes[(sizes.index(self.sheet) + by) % len(sizes)] if self.sheet in sizes else sizes[0])

    def _typed_size(self, text: str) -> None:
        self._to(typed_size(text) if text else self.was)

    def _to(self, sheet: str) -> None:
        self.sheet = sheet
        self.fault, self.says, self.job = "", (), self.as_it_was
        if self.sheet != self.was:
            try:
                self.job, self.says = self.context.darkroom.book.at_size(self.as_it_was, self.sheet)
            except LamphouseError as error:
                self.fault = str(error)

    def _go(self) -> None:
        context = self.context
        if context.paper_out:
            return context.report("paper is out: cover it first")
        if self.fault:
            return context.report(self.fault)
        return context.expose(self.job)
