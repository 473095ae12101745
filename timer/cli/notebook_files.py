"""``lamphouse notebook card``, ``csv``, ``readings``, ``export``, ``import`` and ``check``: files out of the notebook, and
into it."""

import sys
from pathlib import Path
from typing import get_args

import click
import msgspec

from timer.app import notebook_files as files
from timer.app.notebook_files import CardForm
from timer.cli.options import json_option, notebook_option
from timer.cli.show import echo_json
from timer.cli.values import FILE, RUN

output_option = click.option("-o", "--output", type=FILE, help="Write it here.")


@click.command("card")
@click.argument("run", type=RUN)
@click.option("--form", type=click.Choice(get_args(CardForm)), help="Without it: by the ending of --output, or text.")
@output_option
@notebook_option
def print_card(run: int, form: CardForm | None, output: Path | None, notebook_path: Path | None) -> None:
    """The print card of a sheet: its printing map, exposures and settings on one page.

    \b
    Examples:
      lamphouse notebook card 12 -o coat.pdf
      lamphouse notebook card 12
    """
    endings: dict[str, CardForm] = {".html": "html", ".htm": "html", ".pdf": "pdf", ".txt": "text", ".text": "text"}
    ending = output.suffix.lower() if output else ".txt"
    if ending not in endings:
        raise click.UsageError(
            f"{output}: a card is a PDF, a page for a browser or plain text: end it in .pdf, .html or .txt"
        )
    if form and output and endings[ending] != form:
        raise click.UsageError(f"{output}: --form {form} is another kind of file than its ending says")
    form = form or endings[ending]
    data = files.print_card(run, form, output, notebook_path)
    if output:
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
    text, count = files.sheets_table(output, notebook_path)
    if output:
        click.echo(f"{count} sheets written to {output}.")
    else:
        click.echo(text, nl=False)


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
    taken = files.take_measured(run, file, notebook_path)
    found, status, notes = taken.readings, taken.status, taken.notes
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
    count = files.back_up(file, notebook_path)
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
    count = files.restore(file, notebook_path)
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
    faults, count = files.check(notebook_path)
    if as_json:
        echo_json({"ok": not faults, "runs": count, "faults": faults})
    else:
        click.echo("\n".join(faults) or f"All is well: {count} runs.")
    return 1 if faults else 0
