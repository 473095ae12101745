"""``lamphouse notebook``: what was made, and with what light."""

import csv
import dataclasses
import io
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click
import msgspec

from timer.cli.options import RUN, Finite, Line, json_option, notebook_option
from timer.cli.show import echo_json, exposure_json, plan_lines, result_lines
from timer.documents.files import is_there, must_be_free, write_new
from timer.errors import LamphouseError, NotebookError
from timer.notebook import card, sheets
from timer.notebook import readings as kept_readings
from timer.notebook.rows import RunRow
from timer.notebook.store import Notebook
from timer.plans.stored import plan_json
from timer.run.session import Result
from timer.run.states import State

MAX_MEASURED = 2 * 2**20
"""Bytes of an instrument's file: spectra of a large chart."""
AREA = Finite(min=0, min_open=True, max=50)
output_option = click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Write it here.")


_TAKEN_BY = {"colorimeter": "by a colorimeter", "scan": "by a scan", "eye": "by eye, from what is aimed at"}


@click.group("notebook")
def command() -> None:
    """What was made, and with what light. A sheet's number is its run's number.

    \b
    Examples:
      lamphouse notebook list
      lamphouse notebook show 12
      lamphouse notebook find coat grade
      lamphouse notebook write 12 --rating 4 --notes "the window holds"
    """


@command.command("list")
@click.option("--most", type=click.IntRange(1, 100_000), default=20, show_default=True, help="How many, newest first.")
@json_option
@notebook_option
def list_runs(most: int, as_json: bool, notebook_path: Path | None) -> None:
    """List the newest runs."""
    with _opened(notebook_path) as notebook:
        rows = notebook.runs(most)
    if as_json:
        echo_json([_run_data(row) for row in rows])
        return
    for row in rows:
        click.echo(f"{row.id:5}  {row.begun[:16].replace('T', ' ')}  {row.stands:12} {row.kind:6} {row.title}")
    if not rows:
        click.echo("The notebook is empty.")


@command.command("show")
@click.argument("run", type=RUN)
@json_option
@notebook_option
def show_run(run: int, as_json: bool, notebook_path: Path | None) -> None:
    """Show one run: its plan, and the light of every exposure."""
    with _opened(notebook_path) as notebook:
        row, written = notebook.run(run), sheets.sheet(notebook, run)
        exposures = tuple(notebook.exposures(run))
        taken = kept_readings.readings(notebook, run)
    # Only the light matters to the lines; an open state is shown by its own word above them.
    result = Result(run, State.FINISHED, "", exposures, row.response)
    about = {
        key: value
        for key, value in msgspec.to_builtins(written).items()
        if key in (*sheets.FIELDS, "rating", "area", "cost")
    }
    if as_json:
        made = [exposure_json(each, result) for each in exposures]
        measured = msgspec.to_builtins(taken)
        data = {"recipe": row.recipe, "plan": plan_json(row.plan), "exposures": made, "readings": measured}
        echo_json({**_run_data(row), "sheet": about, **data})
        return
    click.echo(f"run {row.id}, {row.begun[:19].replace('T', ' ')}, {row.stands}, lamp {row.lamp}")
    if row.says and row.says != row.state:
        click.echo(row.says)
    if row.continues:
        click.echo(f"continues run {row.continues}")
    for key, value in about.items():
        if value not in ("", None):
            click.echo(f"{key}: {value}" + (" sheets of 8x10" if key == "area" else ""))
    click.echo("")
    click.echo("\n".join([*plan_lines(row.plan), "", "light given:", *result_lines(result)[1:]]))
    for reading in taken:
        values = {"red": reading.red, "green": reading.green, "blue": reading.blue, "visual": reading.visual}
        shown = "  ".join(f"{name} {value:.2f}" for name, value in values.items() if value is not None)
        by = f"  ({_TAKEN_BY[reading.kind]})" if reading.kind in _TAKEN_BY else ""
        click.echo(f"  density of {reading.sample}: {shown}{by}")


@command.command("find")
@click.argument("words", nargs=-1, required=True)
@click.option("--most", type=click.IntRange(1, 100_000), default=50, show_default=True)
@json_option
@notebook_option
def find(words: tuple[str, ...], most: int, as_json: bool, notebook_path: Path | None) -> None:
    """Sheets that have all WORDS in title, negative, paper, box, batch, process or notes.

    \b
    Example:
      lamphouse notebook find coat "roll 14"
    """
    with _opened(notebook_path) as notebook:
        found = sheets.search(notebook, " ".join(words), most)
    if as_json:
        echo_json(msgspec.to_builtins(found))
        return
    for row in found:
        stars = "*" * (row.rating or 0)
        click.echo(f"{row.run:5}  {row.begun[:10]}  {stars:5} {row.title}  {row.negative}")
    if not found:
        click.echo("Nothing found.")


@command.command("write")
@click.argument("run", type=RUN)
@click.option("--negative", type=Line(), help="The negative, as you call it.")
@click.option("--paper", type=Line(), help="The paper, as you call it.")
@click.option("--box", type=Line(), help="The paper's box.")
@click.option("--batch", type=Line(), help="The paper's batch or emulsion number.")
@click.option("--process", type=Line(), help="Baths it went through.")
@click.option("--notes", type=Line(65_536, lines=True), help="Your notes; they replace those that are there.")
@click.option("--rating", type=int, help="1 (bin) to 5 (frame it); 4 and up counts as a good print.")
@click.option(
    "--area", type=Finite(min=0, min_open=True, max=50), help="Its size in sheets of 8x10; a quarter test piece is 0.25."
)
@click.option("--cost", type=Finite(min=0, max=1e6), help="What it cost, in your currency.")
@json_option
@notebook_option
def write(run: int, as_json: bool, notebook_path: Path | None, **changes: Any) -> None:
    """Write down what became of a sheet.

    \b
    Example:
      lamphouse notebook write 12 --rating 4 --notes "the window holds" --batch 2217
    """
    if not any(value is not None for value in changes.values()):
        raise click.UsageError('say what to write, like --rating 4 or --notes "the window holds"')
    with _opened(notebook_path, to_write=True) as notebook:
        after = sheets.write_on(notebook, run, changes)
    if as_json:
        echo_json(msgspec.to_builtins(after))
    else:
        click.echo(f"Written on sheet {run}.")


@command.command("compare")
@click.argument("one", type=RUN)
@click.argument("other", type=RUN)
@json_option
@notebook_option
def compare(one: int, other: int, as_json: bool, notebook_path: Path | None) -> None:
    """Compare two sheets: what differs."""
    with _opened(notebook_path) as notebook:
        rows = sheets.compare(notebook, one, other)
    if as_json:
        echo_json([{"what": what, "first": first, "second": second} for what, first, second in rows])
        return
    click.echo(f"{'':28} {f'sheet {one}':24} sheet {other}")
    for what, first, second in rows:
        click.echo(f"{what:28} {first:24} {second}")
    if not rows:
        click.echo("No difference.")


@command.command("account")
@click.argument("words", nargs=-1)
@json_option
@notebook_option
def account(words: tuple[str, ...], as_json: bool, notebook_path: Path | None) -> None:
    """Add up sheets, cost and good prints (rated 4 or 5), of all or of those that WORDS find."""
    with _opened(notebook_path) as notebook:
        found = sheets.account(notebook, " ".join(words))
    per = found.sheets_per_keeper
    if as_json:
        echo_json({**msgspec.to_builtins(found), "sheets_per_keeper": per})
        return
    click.echo(f"{found.sheets} sheets, as much paper as {found.area:.2f} sheets of 8x10, cost {found.cost:.2f}")
    click.echo(f"good prints: {found.keepers}" + (f", {per:.1f} sheets for each" if per else ""))


def _card_html(made: card.Card) -> bytes:
    return card.as_html(made).encode()


def _card_text(made: card.Card) -> bytes:
    return card.as_text(made).encode()


def _card_pdf(made: card.Card) -> bytes:
    from timer.notebook.card_pdf import as_pdf

    return as_pdf(made)


_CARD_FORMS = {"html": _card_html, "pdf": _card_pdf, "text": _card_text}


@command.command("card")
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
    with _opened(notebook_path) as notebook:
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


@command.command("csv")
@output_option
@notebook_option
def as_csv(output: Path | None, notebook_path: Path | None) -> None:
    """Every sheet as a row of CSV; text that a spreadsheet would take for a formula has an apostrophe before it."""
    with _opened(notebook_path) as notebook:
        data, count = _csv(sheets.every_sheet(notebook))
    if output:
        write_new(output, data)
        click.echo(f"{count} sheets written to {output}.")
    else:
        click.echo(data.decode(), nl=False)


@command.command("readings")
@click.argument("run", type=RUN)
@click.argument("file", type=click.Path(path_type=Path))
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
    with _opened(notebook_path, to_write=True) as notebook:
        kept_readings.take_readings(notebook, run, found)
    if as_json:
        echo_json({"run": run, "status": status, "notes": notes, "readings": msgspec.to_builtins(found)})
        return
    says = f"density status: {status}" if status else "the file does not say which density status (A, M, T) they are"
    colours = any(reading.kind == "colorimeter" for reading in found)
    click.echo(f"{len(found)} readings taken into sheet {run}" + ("." if colours else f"; {says}."))
    for note in notes:
        click.echo(f"- {note}")


@command.command("export")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@notebook_option
def export_all(file: Path, notebook_path: Path | None) -> None:
    """Copy the whole notebook to FILE; safe while a run is on."""
    from timer.notebook import backup

    with _opened(notebook_path) as notebook:
        count = backup.export(notebook, file)
    click.echo(f"{count} runs copied to {file}.")


@command.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@notebook_option
def import_all(file: Path, notebook_path: Path | None) -> None:
    """Replace your notebook by the sheets of the one in FILE. Yours is kept beside it.

    Every row is checked; a file that holds anything else than a notebook is refused.
    """
    from timer.documents.settings import notebook_file
    from timer.notebook import backup

    target = notebook_path or notebook_file()
    refuse_in_a_run(target)
    count = backup.restore(file, target)
    click.echo(f"{count} runs taken from {file}; what was there before is kept beside it.")


@command.command("check")
@json_option
@notebook_option
def check(as_json: bool, notebook_path: Path | None) -> int:
    """Check the notebook for damage; brings an older one up to date."""
    from timer.notebook import backup

    with _opened(notebook_path, to_write=True) as notebook:
        faults = backup.check(notebook)
        count = notebook.read("SELECT count(*) n FROM run")[0]["n"]
    if as_json:
        echo_json({"ok": not faults, "runs": count, "faults": faults})
    else:
        click.echo("\n".join(faults) or f"All is well: {count} runs.")
    return 1 if faults else 0


def refuse_in_a_run(path: Path) -> None:
    """LamphouseError while a run or a screen is using the notebook at ``path``, on whatever lamp."""
    from timer.notebook.in_use import user_of

    user = user_of(path)
    if user:
        raise LamphouseError(
            f"Lamphouse (process {user.process}) is using this notebook; end it before it is changed for another"
        )


def _opened(path: Path | None, *, to_write: bool = False) -> Notebook:
    from timer.documents.settings import notebook_file

    chosen = path or notebook_file()
    if not is_there(chosen):
        raise NotebookError(f"there is no notebook at {chosen} yet; it is begun with the first strip or print")
    return Notebook(chosen, read_only=not to_write)


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


def _state(row: RunRow) -> str:
    if row.damage:
        return "damaged"
    return "interrupted" if row.state == "running" else row.state


def _run_data(row: RunRow) -> dict[str, Any]:
    return {
        "run": row.id,
        "begun": row.begun,
        "ended": row.ended,
        "state": _state(row),
        "says": row.says,
        "kind": row.kind,
        "title": row.title,
        "lamp": row.lamp,
        "continues": row.continues,
    }
