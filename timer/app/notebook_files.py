"""Files out of the notebook, and into it: the print card, a table of every sheet, an instrument's readings, and backups.

What is imported within a function is for the start-up time: a PDF's fonts, a backup's checks.
"""

import csv
import dataclasses
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from timer.app.notebooks import existing
from timer.documents.files import must_be_free, read_text, write_new
from timer.documents.folders import notebook_file
from timer.documents.measured_file import read_samples
from timer.documents.reading import Reading
from timer.errors import LamphouseError
from timer.notebook import card, readings, sheets

MAX_MEASURED = 2 * 2**20
"""Bytes of an instrument's file: spectra of a large chart."""
CardForm = Literal["html", "pdf", "text"]


@dataclass(frozen=True)
class Taken:
    """Readings out of an instrument's file; ``status``: which densities, by the file; ``notes``: what was made of it."""

    readings: list[Reading]
    status: str
    notes: tuple[str, ...]


def print_card(run: int, form: CardForm, output: Path | None, notebook_path: Path | None) -> bytes:
    """The card of sheet ``run``, written at ``output`` too if that is said. LamphouseError, and no file, otherwise."""
    if output:
        must_be_free(output)
    with existing(notebook_path) as notebook:
        made = card.card_of(notebook, run)
    data = _card(made, form)
    if output:
        write_new(output, data)
    return data


def _card(made: card.Card, form: CardForm) -> bytes:
    if form == "pdf":
        from timer.notebook.card_pdf import as_pdf

        return as_pdf(made)
    return (card.as_html(made) if form == "html" else card.as_text(made)).encode()


def sheets_table(output: Path | None, notebook_path: Path | None) -> tuple[str, int]:
    """Every sheet as a row of CSV, and how many; written at ``output`` too if that is said."""
    with existing(notebook_path) as notebook:
        text, count = _csv(sheets.every_sheet(notebook))
    if output:
        write_new(output, text.encode())
    return text, count


def _csv(rows: Iterable[sheets.SheetRow]) -> tuple[str, int]:
    text = io.StringIO()
    writer = csv.writer(text)
    names = [field.name for field in dataclasses.fields(sheets.SheetRow)]
    writer.writerow(names)
    count = 0
    for row in rows:
        writer.writerow([spreadsheet_cell(getattr(row, name)) for name in names])
        count += 1
    return text.getvalue(), count


def spreadsheet_cell(value: Any) -> Any:
    """``value``, with an apostrophe before text that a spreadsheet would take for a formula and carry out."""
    if isinstance(value, str) and value.lstrip()[:1] in tuple("=+-@|%＝＋－＠"):
        return f"'{value}"
    return value


def take_measured(run: int, file: Path, notebook_path: Path | None) -> Taken:
    """Take the CGATS ``file`` of an instrument into sheet ``run``. LamphouseError, and nothing taken, when it is none."""
    taken = Taken(*read_samples(read_text(file, MAX_MEASURED, instead="cp1252"), str(file)))
    with existing(notebook_path, to_write=True) as notebook:
        readings.take_readings(notebook, run, taken.readings)
    return taken


def back_up(file: Path, notebook_path: Path | None) -> int:
    """Copy the whole notebook to ``file``, also while a run is on; how many runs it has."""
    from timer.notebook import backup

    with existing(notebook_path) as notebook:
        return backup.export(notebook, file)


def restore(file: Path, notebook_path: Path | None) -> int:
    """Replace the notebook by that in ``file``, every row checked; how many runs it has. What was there stays beside it.

    LamphouseError for a file that holds anything else, and while a run or a screen is using the notebook, on whatever lamp.
    """
    from timer.notebook import backup
    from timer.notebook.in_use import user_of

    target = notebook_path or notebook_file()
    if user := user_of(target):
        raise LamphouseError(
            f"Lamphouse (process {user.process}) is using this notebook; end it before it is changed for another"
        )
    return backup.restore(file, target)


def check(notebook_path: Path | None) -> tuple[list[str], int]:
    """Faults of the notebook, a sentence each, and how many runs it has; an older one is brought up to date."""
    from timer.notebook import backup

    with existing(notebook_path, to_write=True) as notebook:
        return backup.check(notebook), backup.count_runs(notebook)
