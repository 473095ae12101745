"""Paper out: which kind lies open to light, and since when. A fact of its own, on no run and no clock.

It is written before the box is opened, and cleared only by the printer's word that all of it is covered.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from timer.notebook import columns
from timer.notebook.store import Notebook

SAFELIGHT_KINDS = frozenset({"silver"})
"""Papers that a red safelight does not fog, after a test of it. Every other kind, and what is not known, wants the dark."""


@dataclass(frozen=True)
class PaperOut:
    """A box that was opened: for ``run``, once that is written. ``since`` is for the eye alone."""

    id: int
    kind: str
    since: str
    run: int | None

    @property
    def clock(self) -> str:
        """Like "21:04"; nothing of a time that cannot be read."""
        since = columns.moment(self.since)
        return since.strftime("%H:%M") if since else ""


def open_box(notebook: Notebook, kind: str, run: int | None = None) -> None:
    """A box of ``kind`` is about to be opened. Committed when this returns; NotebookError, and the box stays shut."""
    notebook.still_there()
    with notebook.commit():
        notebook.write("INSERT INTO paper_out (kind, since, run) VALUES (?, ?, ?)", (kind, _now(), run))


def all_out(notebook: Notebook) -> tuple[PaperOut, ...]:
    """Everything that nobody has called covered, the oldest first."""
    rows = notebook.read("SELECT id, kind, since, run FROM paper_out WHERE covered IS NULL ORDER BY id")
    return tuple(
        PaperOut(row["id"], columns.line(row["kind"]), columns.line(row["since"]), columns.whole(row["run"])) for row in rows
    )


def cover(notebook: Notebook) -> None:
    """The printer's word: all of it is in the box again, or in the lidded drum."""
    with notebook.commit():
        notebook.write("UPDATE paper_out SET covered = ? WHERE covered IS NULL", (_now(),))


def bears_red(papers: Sequence[PaperOut]) -> bool:
    """Whether all that is out bears a red safelight."""
    return all(paper.kind in SAFELIGHT_KINDS for paper in papers)


def _now() -> str:
    return datetime.now().astimezone().isoformat(timespec="seconds")
