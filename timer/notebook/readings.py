"""Densities read on a sheet, as they were taken, and what with."""

from datetime import datetime

from timer.documents.reading import Reading
from timer.notebook import columns
from timer.notebook.store import Notebook


def take_readings(notebook: Notebook, run: int, readings: list[Reading]) -> None:
    """Write ``readings`` of sheet ``run``; those of the same samples before are written over."""
    notebook.run(run)
    now = datetime.now().astimezone().isoformat(timespec="seconds")
    with notebook.commit():
        for r in readings:
            values = (run, r.sample, r.red, r.green, r.blue, r.visual, now, r.kind, r.error)
            notebook.write("INSERT OR REPLACE INTO reading VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", values)


def forget_reading(notebook: Notebook, run: int, sample: str) -> None:
    """Take the reading of ``sample`` off sheet ``run``, if it is there."""
    with notebook.commit():
        notebook.write("DELETE FROM reading WHERE run = ? AND sample = ?", (run, sample))


def readings(notebook: Notebook, run: int) -> list[Reading]:
    """The densities of sheet ``run``, by sample."""
    rows = notebook.read("SELECT sample, red, green, blue, visual, kind, error FROM reading WHERE run = ?", (run,))
    return [Reading(**columns.read("reading", row)) for row in rows]
