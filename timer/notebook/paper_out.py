"""Paper out: which kind lies open to light, and since when. A fact of its own, on no run and no clock.

It is written before the box is opened, and cleared only by the printer's word that all of it is covered.
"""

from datetime import datetime

from timer.notebook import columns, old_words
from timer.notebook.rows import PaperOut
from timer.notebook.store import Notebook


def open_box(notebook: Notebook, kind: str, run: int | None = None) -> int:
    """A box of ``kind`` is about to be opened; its id. Committed when this returns; NotebookError: the box stays shut.

    ``run``: whose sheet comes out again, of one that was in its box for a while.
    """
    with notebook.commit():
        return notebook.write("INSERT INTO paper_out (kind, since, run) VALUES (?, ?, ?)", (kind, _now(), run))


def all_out(notebook: Notebook) -> tuple[PaperOut, ...]:
    """Everything that nobody has called covered, the oldest first."""
    rows = notebook.read("SELECT id, kind, since, run FROM paper_out WHERE covered IS NULL ORDER BY id")
    found = (columns.read("paper_out", row) for row in rows)
    return tuple(PaperOut(**row | {"kind": old_words.paper(row["kind"])}) for row in found)


def cover(notebook: Notebook, only: int | None = None) -> None:
    """The printer's word: all of it, or that one, is in the box again, or in the lidded drum."""
    with notebook.commit():
        which = "covered IS NULL AND (? IS NULL OR id = ?)"
        notebook.write(f"UPDATE paper_out SET covered = ? WHERE {which}", (_now(), only, only))


def _now() -> str:
    return datetime.now().astimezone().isoformat(timespec="seconds")
