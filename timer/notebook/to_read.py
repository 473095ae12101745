"""Tests not read yet: strips and rings whose light is done, with the recipe that each was made for."""

from dataclasses import dataclass

from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError, NotebookError
from timer.notebook.columns import line, text
from timer.notebook.store import Notebook


@dataclass(frozen=True)
class TestSheet:
    """A test as the notebook has it; ``made_for``: the recipe it was made for, as TOML, or empty."""

    __test__ = False  # for pytest: it is none of its own

    run: int
    begun: str
    title: str
    negative: str
    unread: bool
    made_for: str

    @property
    def recipe(self) -> Recipe | None:
        """What it was made for; None where that is not known, or is of an older Lamphouse and no recipe any more."""
        try:
            return parse_recipe(self.made_for) if self.made_for else None
        except LamphouseError:
            return None


_SELECT = "SELECT run, sheet.begun, sheet.title, negative, unread, made_for FROM sheet"


def waiting(notebook: Notebook, most: int = 100) -> list[TestSheet]:
    """Tests whose light was given in full and that nobody has read, the newest first."""
    done = "JOIN run ON run.id = run WHERE unread AND run.state = 'finished' ORDER BY run DESC LIMIT ?"
    return [_test(row) for row in notebook.read(f"{_SELECT} {done}", (most,))]


def find(notebook: Notebook, run: int) -> TestSheet:
    """The test of sheet ``run``. NotebookError when there is no such sheet."""
    rows = notebook.read(f"{_SELECT} WHERE run = ?", (run,))
    if not rows:
        raise NotebookError(f"there is no sheet {run} in {notebook.path}; `lamphouse notebook list` shows those there are")
    return _test(rows[0])


def _test(row: dict[str, object]) -> TestSheet:
    run, begun, title, negative, unread, made_for = row.values()
    return TestSheet(int(str(run)), line(begun), line(title), line(negative), bool(unread), text(made_for))


def mark(notebook: Notebook, run: int, *, unread: bool) -> None:
    """Write on the test of sheet ``run`` that it was read, or that it waits to be read again."""
    with notebook.commit():
        if not notebook.write("UPDATE sheet SET unread = ? WHERE run = ?", (unread, run)):
            raise NotebookError(f"there is no sheet {run} in {notebook.path}")
