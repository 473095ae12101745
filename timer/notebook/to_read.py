"""Tests not read yet: strips and rings whose light is done, with the recipe that each was made for."""

from timer.errors import NotebookError
from timer.notebook.columns import line, text
from timer.notebook.rows import TestSheet
from timer.notebook.store import Notebook

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
