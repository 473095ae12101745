"""The recipe book: every recipe there is, those that are made of others, and the last one that was written, to be undone.

What is imported within a function is for the start-up time: few evenings solve for a pack.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from timer.app import writing
from timer.app.jobs import Job
from timer.app.negatives import Entry, Negative, Shelf, Version, entry
from timer.app.picks import Pick
from timer.app.writing import Written
from timer.craft.filters import Pack
from timer.craft.read_by_area import Way
from timer.documents.recipe import Recipe
from timer.errors import LamphouseError
from timer.notebook import readings, sheets, to_read
from timer.notebook.store import Notebook
from timer.plans.recipe_change import DerivedRecipe, RecipeChange


class RecipeBook:
    """``written_last`` is what ``undo`` takes back."""

    def __init__(self, notebook: Notebook) -> None:
        self._notebook = notebook
        self._shelf = Shelf()
        self.written_last: Written | None = None

    def negatives(self, words: str = "") -> list[Negative]:
        """As ``Shelf.negatives``."""
        return self._shelf.negatives(words, sheets.printed(self._notebook))

    def entries(self, versions: Sequence[Version]) -> list[Entry]:
        """What the list says of each."""
        printed = sheets.printed(self._notebook)
        return [entry(version, printed) for version in versions]

    def derived(self, job: Job, target: RecipeChange) -> DerivedRecipe:
        """As ``writing.derived``; nothing is written."""
        return writing.derived(job, target)

    def at_size(self, job: Job, sheet: str) -> tuple[Job, tuple[str, ...]]:
        """``job`` on another size of sheet, as ``writing.at_size``."""
        return writing.at_size(job, RecipeChange(sheet=sheet))

    def write_derived(self, job: Job, target: RecipeChange, word: str) -> Job:
        """As ``writing.derive``; ``undo`` takes it back."""
        made, self.written_last = writing.write_derived(job, target, word)
        return made

    def take(self, test: Job, pick: Pick, run: int = 0, patch: int = 0) -> Job:
        """As ``writing.take``; ``undo`` takes it back. ``run``: the sheet that was read so, if it is in the notebook.

        ``patch``: the one that was right; on colour paper that is kept with the sheet as a look, and counts in ``solve``.
        """
        made, written = writing.take(test, pick)
        self._read_from(run, replace(written, look=self.right(run, patch, test) if run and patch else ""))
        return made

    def right(self, run: int, patch: int, test: Job) -> str:
        """Keep the look at ``patch``, and give its sample; nothing where it says nothing of a pack."""
        if test.plan.paper != "ra4" or not test.plan.patches[patch - 1].filters:
            return ""
        from timer.app import solving

        recipe = test.made_for.recipe if test.made_for else None
        try:
            return solving.look_at(self._notebook, run, Pack(), 0.0, patch, recipe.filters.per_stop if recipe else 0.0)
        except LamphouseError:
            return ""  # the sheet's light is not known well enough to learn from; the pick is good all the same

    def take_solved(self, recipe: Recipe, job: Job | None, test: int = 0) -> Job:
        """As ``writing.write_solved``, from the sheet ``test`` (0: a print's); ``undo`` takes it back."""
        made, written = writing.write_solved(job, recipe)
        self._read_from(test, written)
        return made

    def take_way(self, test: Job, way: Way, run: int = 0) -> Job:
        """As ``writing.take_way`` and ``take``."""
        made, written = writing.take_way(test, way)
        self._read_from(run, written)
        return made

    def _read_from(self, run: int, written: Written) -> None:
        self.written_last = replace(written, test=run)
        if run:
            to_read.mark(self._notebook, run, unread=False)

    def write_corrected(self, job: Job, asked: list[tuple[str, Fraction]]) -> Job:
        """As ``writing.write_corrected``; ``undo`` takes it back."""
        made, self.written_last = writing.write_corrected(job, asked)
        return made

    def write_edited(self, job: Job | None, recipe: Recipe) -> Job:
        """As ``writing.write_edited``; ``undo`` takes it back."""
        made, self.written_last = writing.write_edited(job, recipe)
        return made

    def undo(self) -> str:
        """Take back what was written last; in words what is so now."""
        if not self.written_last:
            raise LamphouseError("nothing was written that could be taken back")
        said, last, self.written_last = writing.undo(self.written_last), self.written_last, None
        if last.look:
            readings.forget_reading(self._notebook, last.test, last.look)
        if last.test:
            to_read.mark(self._notebook, last.test, unread=True)
        return said
