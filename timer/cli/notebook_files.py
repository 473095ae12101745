"""``lamphouse notebook card``, ``csv``, ``readings``, ``export``, ``import`` and ``check``: files out of the notebook, and
into it."""

import csv
import dataclasses
import io
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click
import msgspec

from timer.app.notebooks import existing
from timer.cli.options import json_option, notebook_option
from timer.cli.show import echo_json
from timer.cli.values import FILE, RUN
from timer.documents.files import must_be_free, write_new
from timer.errors import LamphouseError
from timer.notebook import card, sheets
from timer.notebook import readings as kept_readings

MAX_MEASURED = 2 * 2**20
"""Bytes of an instrument's file: spectra of a large chart."""
output_option = click.option("-o", "--output", type=FILE, help="Write it here.")


def _card_html(made: card.Card) -> bytes:
    return card.as_html(made).encode()


def _card_text(made: card.Card) -> bytes:
    return card.as_text(made).encode()


def _card_pdf(made: card.Card) -> bytes:
    from timer.notebook.card_pdf import as_pdf

    return as_pdf(made)


_CARD_FORMS = {"html": _card_html, "pdf": _card_pdf, "text": _card_text}


@click.command("card")
@click.argument("run", type=RUN)
@click.option("--form", type=click.Choice(["html", "pdf", "text"]), help="Without it: by the ending of --output, or text.")
@output_option
@notebook_option
def print_card(run: int, form: str | None, output: Path | None, notebook_path: Path | None) -> None:
    """The print card of a sheet: its printing map, exposures and settings on one page.

    \b
    Examples:
      lamphouse notebook card 12 -o coat.pdf
      lamphouse notebook card 12
    """
    endings = {".html": "html", ".htm": "html", ".pdf": "pdf", ".txt": "text", ".text": "text"}
    ending = output.suffix.lower() if output else ".txt"
    if ending not in endings:
        raise click.UsageError(
            f"{output}: a card is a PDF, a page for a browser or plain text: end it in .pdf, .html or .txt"
        )
    if form and output and endings[ending] != form:
        raise click.UsageError(f"{output}: --form {form} is another kind of file than its ending says")
    form = form or endings[ending]
    if output:
        must_be_free(output)
    with existing(notebook_path) as notebook:
        made = card.card_of(notebook, run)
    data = _CARD_FORMS[form](made)
    if output:
        write_new(output, data)
        click.echo(f"Written to {output}.")
    elif form == "text":
        click.echo(data.decode(), nl=False)
    elif form == "pdf" and sys.stdout.isatty():
        raise click.UsageError("a PDF cannot be shown in a terminal; use -o FILE")
    else:
        sys.stdout.buffer.write(data)


@click.command("csv")
@output_option
@notebook_option
def as_csv(output: Path | None, notebook_path: Path | None) -> None:
    """Every sheet as a row of CSV; text that a spreadsheet would take for a formula has an apostrophe before it.

    \b
    Example:
      lamphouse notebook csv -o sheets.csv
    """
    with existing(notebook_path) as notebook:
        data, count = _csv(sheets.every_sheet(notebook))
    if output:
        write_new(output, data)
        click.echo(f"{count} sheets written to {output}.")
    else:
        click.echo(data.decode(), nl=False)


@click.command("readings")
@click.argument("run", type=RUN)
@click.argument("file", type=FILE)
@json_option
@notebook_option
def readings(run: int, file: Path, as_json: bool, notebook_path: Path | None) -> None:
    """Take a densitometer's or spectrophotometer's CGATS.17 FILE into sheet RUN.

    Columns: D_RED, D_GREEN, D_BLUE, D_VIS; or a spectrum (SPECTRAL_NM with SPECTRAL_PCT, or SPEC_380 and so on), LAB_L,
    LAB_A, LAB_B, or XYZ_X, XYZ_Y, XYZ_Z, which become densities of their own kind.

    \b
    Example:
      lamphouse notebook readings 12 wedge.txt
    """
    from timer.documents.files import read_text
    from timer.documents.measured_file import read_samples

    found, status, notes = read_samples(read_text(file, MAX_MEASURED, instead="cp1252"), str(file))
    with existing(notebook_path, to_write=True) as notebook:
        kept_readings.take_readings(notebook, run, found)
    if as_json:
        echo_json({"run": run, "status": status, "notes": notes, "readings": msgspec.to_builtins(found)})
        return
    says = f"density status: {status}" if status else "the file does not say which density status (A, M, T) they are"
    colours = any(reading.kind == "colorimeter" for reading in found)
    click.echo(f"{len(found)} readings taken into sheet {run}" + ("." if colours else f"; {says}."))
    for note in notes:
        click.echo(f"- {note}")


@click.command("export")
@click.argument("file", type=FILE)
@notebook_option
def export_all(file: Path, notebook_path: Path | None) -> None:
    """Copy the whole notebook to FILE; safe while a run is on.

    \b
    Example:
      lamphouse notebook export backup.db
    """
    from timer.notebook import backup

    with existing(notebook_path) as notebook:
        count = backup.export(notebook, file)
    click.echo(f"{count} runs copied to {file}.")


@click.command("import")
@click.argument("file", type=FILE)
@notebook_option
def import_all(file: Path, notebook_path: Path | None) -> None:
    """Replace your notebook by the sheets of the one in FILE. Yours is kept beside it.

    Every row is checked; a file that holds anything else than a notebook is refused.

    \b
    Example:
      lamphouse notebook import backup.db
    """
    from timer.documents.settings import notebook_file
    from timer.notebook import backup

    target = notebook_path or notebook_file()
    _refuse_in_a_run(target)
    count = backup.restore(file, target)
    click.echo(f"{count} runs taken from {file}; what was there before is kept beside it.")


@click.command("check")
@json_option
@notebook_option
def check(as_json: bool, notebook_path: Path | None) -> int:
    """Check the notebook for damage; brings an older one up to date.

    \b
    Example:
      lamphouse notebook check
    """
    from timer.notebook import backup

    with existing(notebook_path, to_write=True) as notebook:
        faults = backup.check(notebook)
        count = notebook.read("SELECT count(*) n FROM run")[0]["n"]
    if as_json:
        echo_json({"ok": not faults, "runs": count, "faults": faults})
    else:
        click.echo("\n".join(faults) or f"All is well: {count} runs.")
    return 1 if faults else 0


def _refuse_in_a_run(path: Path) -> None:
    """LamphouseError while a run or a screen is using the notebook at ``path``, on whatever lamp."""
    from timer.notebook.in_use import user_of

    user = user_of(path)
    if user:
        raise LamphouseError(
            f"Lamphouse (process {user.process}) is using this notebook; end it before it is changed for another"
        )


def _csv(rows: Iterable[sheets.SheetRow]) -> tuple[bytes, int]:
    """Rows as CSV, and how many."""
    text = io.StringIO()
    writer = csv.writer(text)
    names = [field.name for field in dataclasses.fields(sheets.SheetRow)]
    writer.writerow(names)
    count = 0
    for row in rows:
        writer.writerow([spreadsheet_cell(getattr(row, name)) for name in names])
        count += 1
    return text.getvalue().encode(), count


def spreadsheet_cell(value: Any) -> Any:
    """``value``, with an apostrophe before text that a spreadsheet would take for a formula and carry out."""
    if isinstance(value, str) and value.lstrip()[:1] in tuple("=+-@|%＝＋－＠"):
        return f"'{value}"
    return value
