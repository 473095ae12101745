"""``lamphouse notebook``: what was made, and with what light."""

from pathlib import Path
from typing import Any

import click
import msgspec

from timer.app.archive import opened
from timer.cli import notebook_files
from timer.cli.group import Group
from timer.cli.options import json_option, notebook_option
from timer.cli.show import echo_json, exposure_json, plan_lines, result_lines
from timer.cli.values import RUN, Finite, Line, Whole
from timer.notebook.rows import RunRow
from timer.plans.stored import plan_json
from timer.run.session import Result
from timer.run.states import State

_TAKEN_BY = {"colorimeter": "by a colorimeter", "scan": "by a scan", "eye": "by eye, from what is aimed at"}


@click.group("notebook", cls=Group)
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
@click.option("--most", type=Whole("number", 1, 100_000), default=20, show_default=True, help="How many, newest first.")
@json_option
@notebook_option
def list_runs(most: int, as_json: bool, notebook_path: Path | None) -> None:
    """List the newest runs.

    \b
    Example:
      lamphouse notebook list --most 50
    """
    with opened(notebook_path) as archive:
        rows = archive.runs(most)
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
    """Show one run: its plan, and the light of every exposure.

    \b
    Example:
      lamphouse notebook show 12
    """
    with opened(notebook_path) as archive:
        row, about = archive.run(run), archive.about(run)
        exposures, taken = tuple(archive.exposures(run)), archive.readings(run)
    # Only the light matters to the lines; an open state is shown by its own word above them.
    result = Result(run, State.FINISHED, "", exposures, row.response)
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
@click.option("--most", type=Whole("number", 1, 100_000), default=50, show_default=True, help="How many, newest first.")
@json_option
@notebook_option
def find(words: tuple[str, ...], most: int, as_json: bool, notebook_path: Path | None) -> None:
    """Sheets that have all WORDS in title, negative, paper, box, batch, process, head or notes.

    \b
    Example:
      lamphouse notebook find coat "roll 14"
    """
    with opened(notebook_path) as archive:
        found = archive.sheets(" ".join(words), most)
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
@click.option("--negative", metavar="NAME", type=Line(), help="The negative, as you call it.")
@click.option("--paper", metavar="NAME", type=Line(), help="The paper, as you call it.")
@click.option("--box", metavar="NAME", type=Line(), help="The paper's box.")
@click.option("--head", metavar="HEAD", type=Line(), help="The name of the enlarger's head, as in your settings.")
@click.option("--batch", metavar="NUMBER", type=Line(), help="The paper's batch or emulsion number.")
@click.option("--process", metavar="NAME", type=Line(), help="Baths it went through.")
@click.option(
    "--notes", metavar="WORDS", type=Line(65_536, lines=True), help="Your notes; they replace those that are there."
)
@click.option("--rating", type=Whole("number", 1, 5), help="1 (bin) to 5 (frame it); 4 and up counts as a good print.")
@click.option(
    "--area",
    type=Finite("sheets", 0, 50, above=True),
    help="Its size in sheets of 8x10; a quarter test piece is 0.25.",
)
@click.option("--cost", type=Finite("money", 0, 1_000_000), help="What it cost, in your currency.")
@json_option
@notebook_option
def write(run: int, as_json: bool, notebook_path: Path | None, **changes: Any) -> None:
    """Write down what became of a sheet.

    \b
    Example:
      lamphouse notebook write 12 --rating 4 --notes "the window holds" \\
          --batch 2217
    """
    if not any(value is not None for value in changes.values()):
        raise click.UsageError('say what to write, like --rating 4 or --notes "the window holds"')
    with opened(notebook_path, to_write=True) as archive:
        after = archive.write_on(run, changes)
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
    """Compare two sheets: what differs.

    \b
    Example:
      lamphouse notebook compare 11 12
    """
    with opened(notebook_path) as archive:
        rows = archive.differences(one, other)
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
    """Add up sheets, cost and good prints (rated 4 or 5), of all or of those that WORDS find.

    \b
    Examples:
      lamphouse notebook account
      lamphouse notebook account "roll 14"
    """
    with opened(notebook_path) as archive:
        found = archive.account(" ".join(words))
    per = found.sheets_per_keeper
    if as_json:
        echo_json({**msgspec.to_builtins(found), "sheets_per_keeper": per})
        return
    click.echo(f"{found.sheets} sheets, as much paper as {found.area:.2f} sheets of 8x10, cost {found.cost:.2f}")
    click.echo(f"good prints: {found.keepers}" + (f", {per:.1f} sheets for each" if per else ""))


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


for each in (
    notebook_files.print_card,
    notebook_files.as_csv,
    notebook_files.readings,
    notebook_files.export_all,
    notebook_files.import_all,
    notebook_files.check,
):
    command.add_command(each)
