"""Lamphouse on two emulated boards, its lamp watched from outside.

    python -m tests.emulated smoke      # some three minutes once the parts are fetched
    python -m tests.emulated table      # all of it on both boards
    python -m tests.emulated full       # and newer kernels, and the README's lines on both releases

Exit code 0: all holds. 1: something does not. 3: it cannot be tried here, and why.
"""

import sys
from pathlib import Path

import click
import platformdirs

from tests.emulated.cases import SUITES
from tests.emulated.cases.every import CASES
from tests.emulated.models import MODELS
from tests.emulated.runner import run
from tests.emulated.says import Missing
from tests.emulated.table import as_text, summary, write_json


@click.command(help=__doc__)
@click.argument("suite", type=click.Choice(SUITES), default="smoke")
@click.option("--board", "boards", multiple=True, type=click.Choice(list(MODELS)), help="This board alone.")
@click.option("--case", "names", multiple=True, help="These cases alone, by name; --list has the names.")
@click.option("--boot", "boots", multiple=True, help="Machines started this way alone; --list has them, - for plain.")
@click.option("--list", "listing", is_flag=True, help="Name the cases of the suite and run none.")
@click.option(
    "--cache",
    type=click.Path(file_okay=False, path_type=Path),
    envvar="LAMPHOUSE_EMULATED",
    default=platformdirs.user_cache_path("lamphouse-emulated"),
    show_default=True,
    help="Where what was fetched is kept, and the logs of the last run.",
)
@click.option("--refresh", is_flag=True, help="Fetch anew what is kept.")
@click.option("--json", "json_path", type=click.Path(dir_okay=False, path_type=Path), help="Write every row there too.")
def main(
    suite: str,
    boards: tuple[str, ...],
    names: tuple[str, ...],
    boots: tuple[str, ...],
    listing: bool,
    cache: Path,
    refresh: bool,
    json_path: Path | None,
) -> int:
    wanted = [
        case
        for case in CASES
        if suite in case.suites and (not names or case.name in names) and (not boots or (case.boot.name or "-") in boots)
    ]
    if listing:
        for case in wanted:
            click.echo(f"{case.name:14} {case.boot.name or '-':18} {' '.join(case.boards)}")
        return 0
    if not wanted:
        raise click.UsageError(f"{suite} has no such case; --list names them")
    try:
        rows = run(wanted, boards or tuple(MODELS), cache, refresh=refresh)
    except Missing as error:
        click.echo(f"NOT TRIED: {error}", err=True)
        return 3
    click.echo(as_text(rows))
    if json_path:
        write_json(rows, json_path)
    holds, fails = summary(rows)
    click.echo(f"\n{holds} hold, {fails} do not. Logs: {cache / 'run'}")
    return 1 if fails or not holds else 0


if __name__ == "__main__":
    sys.exit(main(standalone_mode=False))
