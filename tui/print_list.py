"""The list at the left of the first page: what waits to be read or finished, and all that can be chosen."""

from collections.abc import Sequence
from pathlib import Path

from timer.app.jobs import Job
from timer.notebook.rows import RunRow
from tui.page import first_shown
from tui.widgets.lines import cut

LIST_WIDE = 22
"""Cells that it is wide."""
NAMED = 3
"""Sheets that are named in it as unfinished; the others are behind their key."""


def list_rows(jobs: Sequence[Job], bad: int, unfinished: Sequence[RunRow], to_read: int, at: int, height: int) -> list[str]:
    """As many rows as ``height`` has room for around the choice ``at``: 0 the strip, then ``jobs``, last ``bad`` files."""
    head = [f"to read     a: {to_read}"] if to_read else []
    head += [f"unfinished  r: {len(unfinished)}"] if unfinished else []
    head += [f"  {row.id} {row.title}" for row in unfinished[:NAMED]]
    names = ["a new strip", *(title_of(job, jobs) for job in jobs), *([f"{bad} not usable"] if bad else [])]
    rows = [f"{'▌' if n == at else ' '} {name}" for n, name in enumerate(names)]
    rows.insert(1, "all, newest first")
    room = max(3, height - len(head))
    first = first_shown(at + (at > 0), len(rows), room)
    return [cut(row, LIST_WIDE) for row in [*head, *rows[first : first + room]]]


def title_of(job: Job, jobs: Sequence[Job]) -> str:
    """Its title; of two of ``jobs`` that share one, with the name of its file."""
    title, file = job.plan.title, Path(job.name).stem
    alike = sum(other.plan.title == title for other in jobs)
    return title if alike < 2 else f"{cut(title, max(6, LIST_WIDE - 5 - len(file)))} ({file})"
