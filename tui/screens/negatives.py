"""Every negative that has recipes, newest first; words find one, its versions lie behind it."""

from textual.app import ComposeResult
from textual.widgets import Static

from timer.app.negatives import Entry, Negative, Version
from timer.app.recipes import Broken, job_or_fault
from timer.errors import LamphouseError
from tui.page import first_shown
from tui.typing_page import TypingPage
from tui.widgets.lines import fitted

WIDE = 72
"""From this width on there are all columns; below it title, size and last print."""


class Negatives(TypingPage):
    """A list that is moved through and typed into."""

    phase = "NEGATIVES"

    def __init__(self) -> None:
        super().__init__()
        self.at = 0
        self.words = ""
        self.rows: list[Negative] = []
        self.place: dict[str, int] = {}

    def body(self) -> ComposeResult:
        yield Static(id="choice", markup=False)
        yield Static(id="list", markup=False)
        yield Static(id="hands", markup=False)

    def begin(self) -> None:
        self._end_entry()
        self.call_after_refresh(self._find, self.words)

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    def _find(self, words: str) -> None:
        if words != self.words:
            self.words, self.at = words, 0
        try:
            self.rows = self.context.darkroom.book.negatives(words)
        except LamphouseError as error:
            self.rows = []
            self.context.report(str(error))
        self._draw()

    @property
    def height(self) -> int:
        """Rows that the list has room for."""
        return max(2, self.size.height - 9)

    def version(self, row: Negative) -> Version:
        """The one of its versions that is chosen."""
        return row.versions[min(self.place.get(row.name, 0), len(row.versions) - 1)]

    def _draw(self) -> None:
        if not self.is_attached:
            return
        self.at = max(0, min(self.at, len(self.rows) - 1))
        first = first_shown(self.at, len(self.rows), self.height)
        shown = self.rows[first : first + self.height]
        found = f", found by: {self.words}" if self.words else ""
        plural = "" if len(self.rows) == 1 else "s"
        self.query_one("#choice", Static).update(f"{len(self.rows)} negative{plural}{found}")
        try:
            entries = self.context.darkroom.book.entries([self.version(row) for row in shown])
        except LamphouseError as error:
            entries = [Entry(self.version(row).title) for row in shown]
            self.context.report(str(error))
        head = "  " + _columns("title", "", "size", "filters", "printed", "rating", self.size.width)
        lines = [
            f"{'>' if n == self.at else ' '} {self._line(row, one)}"
            for n, (row, one) in enumerate(zip(shown, entries, strict=True), first)
        ]
        nothing = "Nothing has all these words." if self.words else "No recipe yet: e on the first page begins one."
        self.query_one("#list", Static).update("\n".join([head, *lines] if lines else [nothing]))
        one = entries[self.at - first] if lines else None
        self.query_one("#hands", Static).update(self._about(self.rows[self.at], one) if one else "")
        self._foot()

    def _line(self, row: Negative, one: Entry) -> str:
        count = f"{len(row.versions)}" if len(row.versions) > 1 else ""
        if one.fault:
            return f"{one.title}: NOT USABLE"
        last = row.printed
        stars = "*" * last.rating if last and last.rating else ""
        return _columns(one.title, count, one.size, one.filters, last.begun[:10] if last else "", stars, self.size.width)

    def _about(self, row: Negative, one: Entry) -> str:
        version = self.version(row)
        at = f"version {row.versions.index(version) + 1} of {len(row.versions)}: " if len(row.versions) > 1 else ""
        if one.fault:
            return f"{at}{version.path.name}: {one.fault}"
        when = f"   printed {one.printed}" if one.printed else "   not printed yet" if row.printed else ""
        return f"{at}{one.title}   {one.base}   {version.path.name}{when}"

    def _foot(self) -> None:
        if self.entry:
            return self.next_action(f"{self.entry}\nEnter: done   Esc: all of them")
        if not self.rows:
            return self.next_action("/: find   q: back")
        versions = "   left right: version" if len(self.rows[self.at].versions) > 1 else ""
        return self.next_action(f"Enter: take it   e: edit   /: find\nup down, page keys: choose{versions}")

    # ── keys ─────────────────────────────────────────────────────────────────

    def pressed(self, key: str) -> bool:
        moves = {"up": -1, "down": 1, "pageup": -self.height, "pagedown": self.height}
        if key in moves:
            self.at += moves[key]
        elif key in ("home", "end"):
            self.at = 0 if key == "home" else len(self.rows) - 1
        else:
            return super().pressed(key)
        self._draw()
        return True

    def _act(self, key: str) -> bool:
        if key in ("left", "right") and self.rows:
            self._turn(1 if key == "right" else -1)
        elif key in ("slash", "/"):
            self.ask_for_words("find", self._find)
        elif key == "enter":
            self._take()
        elif key == "e" and self.rows:
            self._edit()
        else:
            return False
        return True

    def _turn(self, by: int) -> None:
        row = self.rows[self.at]
        self.place[row.name] = (row.versions.index(self.version(row)) + by) % len(row.versions)

    def _take(self) -> None:
        context = self.context
        if not self.rows:
            return context.go_back()
        job = job_or_fault(self.version(self.rows[self.at]).path)
        if isinstance(job, Broken):
            return context.report("this recipe cannot be used: its file has to be corrected first")
        context.chosen, context.to_chosen = job, True
        return context.go_back()

    def _edit(self) -> None:
        context = self.context
        job = job_or_fault(self.version(self.rows[self.at]).path)
        if context.paper_out:
            context.report("paper is out: cover it first")
        elif isinstance(job, Broken) or not job.recipe:
            context.report("this recipe cannot be used: its file has to be corrected first")
        else:
            context.show("edit", job, job.recipe)


def _columns(title: str, count: str, size: str, filters: str, printed: str, rating: str, width: int) -> str:
    """A row; a screen without the width has fewer columns, none of them cut but a title."""
    if width < WIDE:
        room = max(8, width - 16)
        return f"{fitted(title, room)} {count:>2} {size:>10}"
    room = max(12, width - 54)
    return f"{fitted(title, room)} {count:>3}  {size:9} {filters:16} {printed:10} {rating:>6}"
