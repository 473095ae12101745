"""The notebook: what was made, newest first, and the light of the one chosen."""

from collections.abc import Iterator
from contextlib import contextmanager

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import Static

from timer.errors import LamphouseError
from timer.notebook.light import given_text
from timer.notebook.rows import RunRow
from tui.page import first_shown
from tui.pages import of_test
from tui.typing_page import TypingPage
from tui.widgets.lines import cut, lines_of, shortened
from tui.widgets.sheet import strip_rows

NOTES_LONGEST = 500
WIDE = 76
"""From this width on the foot has its keys in words."""
LEAST_DRAWN = 3
"""Rows of the smallest drawing of a strip."""
LEAST_LIGHT = 3
"""Rows of its light."""


class NotebookPage(TypingPage):
    """A list that is moved through, searched, and written on."""

    phase = "NOTEBOOK"
    guarded = frozenset({"k"})

    def body(self) -> ComposeResult:
        with Horizontal(id="book"):
            yield Static(id="list", markup=False)
            yield Static(id="card", markup=False)

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    def begin(self) -> None:
        if hasattr(self, "rows"):
            if self.context.to_chosen:  # a recipe was written: on to it
                return self.context.go_back()
            return self._draw()  # back from another page: as it was left
        self.marked: int | None = None
        self.words, self.at = "", 0
        return self._read("")

    def _read(self, words: str) -> None:
        """The newest sheets, or those that have all of ``words``."""
        if words != self.words:
            self.words, self.at = words, 0
        try:
            self.rows: list[RunRow] = self.context.darkroom.archive.runs(words=words)
        except LamphouseError as error:
            self.rows = []
            self.context.report(str(error))
        self._draw()

    def _draw(self) -> None:
        if not self.is_attached or not hasattr(self, "rows"):
            return None
        room = self.query_one("#list").size
        height = max(3, room.height - 1)
        first = first_shown(self.at, len(self.rows), height)
        shown = list(enumerate(self.rows))[first : first + height]
        lines = [_line(row, chosen=n == self.at, width=room.width or 80) for n, row in shown]
        if lines:
            lines.insert(0, f"  {'':4} {'made':{_made(room.width)}} {'state':11} title")
        self.query_one("#list", Static).update("\n".join(lines) or "Nothing yet: a strip or a print begins it.")
        self.query_one("#card", Static).update("\n".join(self._card()))
        if self.entry:
            ends = "Enter: done   Esc: all of them" if self._finds else "Enter: write it   Esc: as it was"
            return self.next_action(self.entry_foot("   an underscore writes a space", ends))
        found = f"   found by: {self.words}" if self.words else ""
        read = ("a: read it   " if self._is_test else "") + ("s: solve   " if self._can_solve else "")
        if self.size.width < WIDE:
            read = ("a read  " if self._is_test else "") + ("s solve  " if self._can_solve else "")
            return self.next_action(f"p again  1-5 rate  w notes  k final\n= compare  {read}/ find  Enter back")
        self.next_action(
            f"p: print it again   1-5: rate it   w: notes   k: final   =: compare with\n"
            f"Enter: back   {read}/: look for{found}"
        )
        return None

    def _card(self) -> list[str]:
        """The chosen sheet: its title in full, a test's patches drawn, what is written of it, and its light."""
        if not self.rows:
            return []
        row, room = self.rows[self.at], self.query_one("#card").size
        title = [f"{row.id}  {row.title}", ""]
        written, light = self._written(), self._light()
        words = sum(lines_of(line, room.width) for line in [*title, *written]) + 1
        left = room.height - words - len(light)
        drawn = strip_rows(row.plan, max(12, room.width), max(LEAST_DRAWN, left)) if row.plan.patches else []
        if drawn and (len(drawn[0]) > room.width or len(drawn) + words + LEAST_LIGHT > room.height):
            drawn = []  # of many patches there is none so narrow; and what is written goes before it
        return [*title, *drawn, *written, "", *shortened(light, max(LEAST_LIGHT, room.height - words - len(drawn)))]

    def _written(self) -> list[str]:
        """What is written of the chosen sheet; or how it differs from the marked one."""
        darkroom, run = self.context.darkroom, self.rows[self.at].id
        try:
            if self.marked is not None and self.marked != run:
                changes = darkroom.archive.differences(self.marked, run)[:8]
                return [f"{what}: {first} -> {second}" for what, first, second in changes]
            return darkroom.archive.written(run)
        except LamphouseError as error:
            return [str(error)]

    def _light(self) -> list[str]:
        """The exposures of the chosen sheet; or why they cannot be told."""
        try:
            rows = self.context.darkroom.archive.exposures(self.rows[self.at].id)
        except LamphouseError as error:
            return [str(error)]
        return [f"{e.label:18} {given_text(e, self.rows[self.at].response)}" for e in rows]

    @property
    def _is_test(self) -> bool:
        return bool(self.rows and self.rows[self.at].plan.patches)

    def _open(self) -> None:
        """The test that is chosen, to be looked back at: read before or not."""
        run = self.rows[self.at].id
        try:
            test = self.context.darkroom.archive.test(run)
        except LamphouseError as error:
            return self.context.report(str(error))
        return self.context.show(of_test(test, run), test, run)

    @property
    def _can_solve(self) -> bool:
        row = self.rows[self.at] if self.rows else None
        return row is not None and row.paper == "ra4" and row.state == "finished" and bool(row.plan.patches or row.recipe)

    def _solve(self) -> None:
        """Pack and time from what was read on the chosen sheet."""
        row, archive = self.rows[self.at], self.context.darkroom.archive
        try:
            job = archive.test(row.id) if row.plan.patches else archive.print_of(row)
        except LamphouseError as error:
            return self.context.report(str(error))
        return self.context.show("solve", job, row.id)

    def _again(self) -> None:
        if self.context.paper_out:
            return self.context.report("paper is out: cover it first")
        try:
            job = self.context.darkroom.archive.again(self.rows[self.at])
        except LamphouseError as error:
            return self.context.report(str(error))
        return self.context.show("reprint", self.rows[self.at], job)

    def _note(self) -> None:
        """Begin to type its notes, with those there are."""
        if self.context.paper_out:
            return self.context.report("paper is out: cover it first")
        try:
            notes = self.context.darkroom.archive.notes(self.rows[self.at].id)
        except LamphouseError as error:
            return self.context.report(str(error))
        return self.ask("notes", self._write_notes, notes, NOTES_LONGEST)

    def _write_notes(self, text: str) -> None:
        self.context.darkroom.archive.write_notes(self.rows[self.at].id, text)

    @contextmanager
    def _said(self) -> Iterator[None]:
        """What cannot be written is said, and the page goes on."""
        try:
            yield
        except LamphouseError as error:
            self.context.report(str(error))

    def _final(self) -> None:
        with self._said():
            self.context.darkroom.archive.mark_final(self.rows[self.at].id)

    def _rate(self, stars: int) -> None:
        with self._said():
            self.context.darkroom.archive.rate(self.rows[self.at].id, stars)

    def pressed(self, key: str) -> bool:
        if key in ("up", "down"):
            self.at = max(0, min(len(self.rows) - 1, self.at + (1 if key == "down" else -1)))
            self._draw()
            return True
        return super().pressed(key)

    def _act(self, key: str) -> bool:
        if key in ("slash", "/"):
            self.ask_for_words("look for", self._read)
        elif self.rows and key in ("1", "2", "3", "4", "5"):
            self._rate(int(key))
        elif self.rows and key in ("equals_sign", "="):
            self.marked = self.rows[self.at].id
        elif self.rows and key == "p":
            self._again()
        elif key == "a" and self._is_test:
            self._open()
        elif key == "s" and self._can_solve:
            self._solve()
        elif self.rows and key == "w":
            self._note()
        elif self.rows and key == "k":
            self._final()
        elif key == "enter":
            self.context.go_back()
        else:
            return False
        return True


def _line(row: RunRow, *, chosen: bool, width: int) -> str:
    made = row.begun[5:16].replace("T", " ")[: _made(width)]
    text = f"{'>' if chosen else ' '} {row.id:4} {made} {row.stands:11} {row.title}"
    return cut(text, width)


def _made(width: int) -> int:
    """Letters of the date; without the width its time is left out."""
    return 11 if width >= 56 else 5
