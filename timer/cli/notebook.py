"""``lamphouse notebook``."""

from pathlib import Path
from typing import Any

import click

from timer.cli.options import notebook_option
from timer.cli.show import echo_json, exposure_json, plan_lines, result_lines
from timer.craft.lamp_response import LampResponse
from timer.errors import NotebookError
from timer.notebook.store import Notebook, RunRow
from timer.plan import plan_json
from timer.run.session import Result
from timer.run.states import State


@click.group("notebook")
def command() -> None:
    """What was made, and with what light.

    \b
    Examples:
      lamphouse notebook list
      lamphouse notebook show 12
    """


@command.command("list")
@click.option("--most", type=click.IntRange(1, 100_000), default=20, show_default=True, help="How many, newest first.")
@click.option("--json", "as_json", is_flag=True, help="Machine output.")
@notebook_option
def list_runs(most: int, as_json: bool, notebook_path: Path | None) -> None:
    """The newest runs."""
    notebook = _open(notebook_path)
    rows = notebook.runs(most)
    notebook.close()
    if as_json:
        echo_json([_run_data(row) for row in rows])
        return
    for row in rows:
        click.echo(f"{row.id:5}  {row.begun[:16].replace('T', ' ')}  {_state(row):12} {row.kind:6} {row.title}")
    if not rows:
        click.echo("The notebook is empty.")


@command.command("show")
@click.argument("run", type=int)
@click.option("--json", "as_json", is_flag=True, help="Machine output.")
@notebook_option
def show_run(run: int, as_json: bool, notebook_path: Path | None) -> None:
    """One run: its plan, and every exposure it made."""
    notebook = _open(notebook_path)
    row = notebook.run(run)
    exposures = tuple(notebook.exposures(run))
    notebook.close()
    # Only the light matters to the lines; an open state is shown by its own word above them.
    result = Result(run, State.FINISHED, "", exposures, LampResponse(row.delay_s, row.rise_s))
    if as_json:
        made = [exposure_json(each, result) for each in exposures]
        echo_json({**_run_data(row), "recipe": row.recipe, "plan": plan_json(row.plan), "exposures": made})
        return
    click.echo(f"run {row.id}, {row.begun[:19].replace('T', ' ')}, {_state(row)}, lamp {row.lamp}")
    if row.says and row.says != row.state:
        click.echo(row.says)
    if row.continues:
        click.echo(f"continues run {row.continues}")
    click.echo("")
    click.echo("\n".join([*plan_lines(row.plan), "", "light given:", *result_lines(result)[1:]]))


def _open(path: Path | None) -> Notebook:
    from timer.settings import folder

    chosen = path or folder("data") / "notebook.db"
    if not chosen.exists():
        raise NotebookError(f"there is no notebook at {chosen} yet; it is begun with the first strip or print")
    return Notebook(chosen, read_only=True)


def _state(row: RunRow) -> str:
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
