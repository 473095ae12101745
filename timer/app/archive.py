"""The archive: what the notebook has of every sheet, and what the printer writes on it.

What is imported within a method is for the start-up time: the first page is shown without it.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from timer.app.jobs import Job
from timer.app.notebooks import BEGUN_WITH, existing
from timer.craft.filters import Pack
from timer.documents.recipe_file import parse_recipe
from timer.documents.settings import Head
from timer.errors import LamphouseError, NotebookError
from timer.notebook import sheets, to_read
from timer.notebook.rows import ExposureRow, RunRow, TestSheet
from timer.notebook.sheets import Account, SheetRow
from timer.notebook.store import Notebook
from timer.plans.print import print_plan

if TYPE_CHECKING:
    from timer.app.solving import Solved
    from timer.documents.reading import Reading
    from timer.measure.sheet import Aim


@contextmanager
def opened(path: Path | None = None, *, to_write: bool = False, instead: str = BEGUN_WITH) -> "Iterator[Archive]":
    """The archive of the notebook that a command means, as ``notebooks.existing``."""
    with existing(path, to_write=to_write, instead=instead) as notebook:
        yield Archive(notebook)


class Archive:
    """Sheets by their number, which is their run's. LamphouseError where the notebook cannot be read or written."""

    def __init__(self, notebook: Notebook) -> None:
        self._notebook = notebook
        self._aims: dict[str, Aim] = {}

    def runs(self, most: int = 100, words: str = "") -> list[RunRow]:
        """The newest runs, or the newest of those whose sheet has all ``words``."""
        if not words.strip():
            return self._notebook.runs(most)
        return self._notebook.runs_of(row.run for row in self.sheets(words, most))

    def sheets(self, words: str, most: int = 100) -> list[SheetRow]:
        """The newest sheets that have all ``words`` in what is written of them."""
        return sheets.search(self._notebook, words, most)

    def account(self, words: str = "") -> Account:
        """What the sheets that have all ``words`` come to, or all of them."""
        return sheets.account(self._notebook, words)

    def run(self, run: int) -> RunRow:
        """Run number ``run``. NotebookError when there is none."""
        return self._notebook.run(run)

    def exposures(self, run: int) -> list[ExposureRow]:
        """What ``run`` was given, in order; NotebookError when one of its rows is damaged."""
        return self._notebook.exposures(run)

    def unfinished(self) -> list[RunRow]:
        """Every interrupted sheet that had light, or may have had it, and was not finished or given up; newest first."""
        return self._notebook.unfinished()

    def give_up(self, row: RunRow) -> None:
        """The printer gives ``row`` up: it is not offered again."""
        self._notebook.end_run(row.id, "forgotten", "given up by you")

    def tests_to_read(self) -> list[TestSheet]:
        """As ``to_read.waiting``."""
        return to_read.waiting(self._notebook)

    def test(self, run: int) -> Job:
        """The test of sheet ``run``, made for its print as that is now. LamphouseError as ``job_of_test``."""
        from timer.app.reading import for_its_file, job_of_test

        return for_its_file(job_of_test(self._notebook, run))

    def test_as_made(self, run: int) -> Job:
        """The test of sheet ``run`` as it was before its light. LamphouseError as ``job_of_test``."""
        from timer.app.reading import job_of_test

        return job_of_test(self._notebook, run)

    def mark_read(self, run: int) -> None:
        """The printer's word: the test of sheet ``run`` says nothing more. NotebookError for what is no test."""
        self._mark(run, unread=False)

    def mark_unread(self, run: int) -> None:
        """The test of sheet ``run`` waits to be read again. NotebookError for what is no test."""
        self._mark(run, unread=True)

    def _mark(self, run: int, *, unread: bool) -> None:
        if not self.run(run).plan.patches:
            raise NotebookError(f"run {run} is no test: it has no patches to be read")
        to_read.mark(self._notebook, run, unread=unread)

    def again(self, row: RunRow) -> Job:
        """The job that makes a sheet of the notebook anew. LamphouseError when its row is damaged."""
        if row.damage:
            raise LamphouseError(f"run {row.id} is damaged: {row.damage}")
        if not row.recipe:
            return Job(row.plan)
        recipe = parse_recipe(row.recipe, f"the recipe of run {row.id}")
        return Job(print_plan(recipe), row.recipe, None, recipe, origin=f"run {row.id}")

    def print_of(self, row: RunRow) -> Job:
        """The print that ``row`` is a sheet of, as its file has it now. LamphouseError when its row is damaged."""
        from timer.app.reading import in_its_file

        return in_its_file(self.again(row))

    def looked_at(self, run: int, viewing: Pack, darker: float, patch: int | None, per_stop: float) -> str:
        """As ``solving.look_at``."""
        from timer.app import solving

        return solving.look_at(self._notebook, run, viewing, darker, patch, per_stop)

    def forget_reading(self, run: int, sample: str) -> None:
        """Take the reading ``sample`` of sheet ``run`` back."""
        from timer.notebook import readings

        readings.forget_reading(self._notebook, run, sample)

    def readings(self, run: int) -> "list[Reading]":
        """What was read on sheet ``run``."""
        from timer.notebook import readings

        return readings.readings(self._notebook, run)

    def take_readings(self, run: int, read: "list[Reading]") -> None:
        """Keep ``read`` with sheet ``run``; those of the same samples before are written over."""
        from timer.notebook import readings

        readings.take_readings(self._notebook, run, read)

    def solved(self, run: int, head: Head, aim: "Aim | None", text: str) -> "Solved":
        """What is to be done after sheet ``run`` and the earlier ones that count with it, as ``solving.solved``.

        An ``aim`` that was said of one sheet holds for the next ones of its negative, until the screen is left.
        """
        from timer.app import solving

        negative = sheets.sheet(self._notebook, run).negative
        if aim:
            self._aims[negative] = aim
        those = (*solving.earlier(self._notebook, run), run)
        return solving.solved(self._notebook, those, head, aim=aim, otherwise=self._aims.get(negative), text=text)

    def sheet(self, run: int) -> SheetRow:
        """What is written of sheet ``run``. NotebookError when there is no such sheet."""
        return sheets.sheet(self._notebook, run)

    def about(self, run: int) -> dict[str, Any]:
        """By field what the printer wrote on sheet ``run``, its rating, area (sheets of 8x10) and cost."""
        row = self.sheet(run)
        return {key: getattr(row, key) for key in (*sheets.FIELDS, "rating", "area", "cost")}

    def written(self, run: int) -> list[str]:
        """What is written of a sheet, a line each."""
        about = self.about(run)
        stars = "*" * about["rating"] if about["rating"] else "not rated"
        return [stars, *(f"{key}: {about[key]}" for key in sheets.FIELDS if about[key])]

    def differences(self, one: int, other: int) -> list[tuple[str, str, str]]:
        """What changed between two sheets: (what, before, after)."""
        return sheets.compare(self._notebook, one, other)

    def write_on(self, run: int, changes: Mapping[str, Any]) -> SheetRow:
        """Write ``changes`` on sheet ``run``, by field; what it says then. NotebookError for what no sheet can say."""
        return sheets.write_on(self._notebook, run, dict(changes))

    def rate(self, run: int, rating: int) -> None:
        """Write ``rating``, 1 (bin) to 5 (frame it), on sheet ``run``."""
        self.write_on(run, {"rating": rating})

    def notes(self, run: int) -> str:
        """What the printer wrote on sheet ``run``."""
        return sheets.sheet(self._notebook, run).notes

    def write_notes(self, run: int, notes: str) -> None:
        """Put ``notes`` in the place of those of sheet ``run``."""
        self.write_on(run, {"notes": notes})

    def mark_final(self, run: int) -> bool:
        """Mark the print as the final one of its negative, or take the mark away; whether it has it now."""
        notes = sheets.final_turned(self.notes(run))
        self.write_notes(run, notes)
        return sheets.is_final(notes)
