"""``lamphouse solve``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from timer.cli.heads import chosen, head_options
from timer.cli.options import RUN, Finite, Line, json_option, notebook_option
from timer.cli.show import echo_json
from timer.craft.filters import Pack, parse_pack
from timer.errors import Refused

if TYPE_CHECKING:
    from timer.documents.settings import Head
    from timer.measure.sheet import Aim, Instrument, Sheet
    from timer.notebook.rows import RunRow
    from timer.notebook.store import Notebook

GREY_CARD = (0.74, 0.74, 0.74)
"""Density of a card that reflects 18 %: log10(1 / 0.18)."""


def as_aim(ctx: click.Context, param: click.Parameter, value: str | None) -> "Aim | None":
    """Callback: one density for a neutral, or three: red, green, blue."""
    if value is None:
        return None
    try:
        numbers = [float(part) for part in value.replace(",", " ").split()]
    except ValueError:
        numbers = []
    if len(numbers) not in (1, 3) or not all(0 <= d <= 4 for d in numbers):
        raise click.BadParameter(
            f"{value!r} is not a density like 0.75, or three of them, like '0.76 0.74 0.71'", ctx, param
        )
    return (numbers[0],) * 3 if len(numbers) == 1 else (numbers[0], numbers[1], numbers[2])


@click.command("solve")
@click.argument("runs", type=RUN, nargs=-1, required=True)
@click.option(
    "--aim", callback=as_aim, help="Densities to reach: red, green, blue, or one for all.  [default: sample 'aim']"
)
@click.option(
    "--read-with",
    type=click.Choice(["densitometer", "scan", "eye"]),
    default="densitometer",
    show_default=True,
    help="What readings were taken with that do not say: how much they count.",
)
@click.option("--through", type=Line(30), help="By eye: the viewing filter that it looks right through, like 10G.")
@click.option("--darker", type=Finite(min=-1, max=1), default=0.0, help="By eye: how much darker than right, in density.")
@click.option(
    "--patch", type=click.IntRange(1, 99), help="By eye: the patch of a test sheet that was looked at; alone: it is right."
)
@click.option("--reversal", is_flag=True, help="Paper for prints from slides, which gets lighter with light.")
@click.option("-o", "--output", type=click.Path(path_type=Path, dir_okay=False), help="Write the next recipe here.")
@head_options
@json_option
@notebook_option
def command(
    runs: tuple[int, ...],
    aim: "Aim | None",
    read_with: "Instrument",
    through: str | None,
    darker: float,
    patch: int | None,
    reversal: bool,
    output: Path | None,
    head: str | None,
    top: float | None,
    per_stop: float | None,
    as_json: bool,
    notebook_path: Path | None,
) -> None:
    """Pack and time for the next sheet, from readings of one grey place on the sheets RUNS of one negative, oldest first.

    Readings are taken into a sheet by `lamphouse notebook readings` or `lamphouse scan`; samples are named by their patch
    (1, 2, ...), and a print that is right, read with them, is 'aim'. A look at the last sheet is kept with it, and counts.

    \b
    Examples:
      lamphouse solve 12 --aim "0.76 0.74 0.71"
      lamphouse solve 12 13 -o quay-3.toml
      lamphouse solve 13 --through 10G --darker 0.1
      lamphouse solve 14 --patch 4          # a ring-around: its fourth print is right
    """
    from timer.documents.settings import notebook_file
    from timer.measure.sheet import aim_of, look
    from timer.notebook.readings import take_readings
    from timer.notebook.sheets import sheet
    from timer.notebook.store import Notebook

    this = chosen(head, top, per_stop)
    looked = through is not None or bool(darker) or patch is not None
    with Notebook(notebook_path or notebook_file(), read_only=not looked) as notebook:
        taken = [_taken(notebook, run, this.per_stop) for run in dict.fromkeys(runs)]
        if looked:
            seen = look(taken[-1], _viewing(through or "0"), darker, patch)
            take_readings(notebook, runs[-1], [seen])
            taken[-1] = _taken(notebook, runs[-1], this.per_stop)
        row, negative = notebook.run(runs[-1]), sheet(notebook, runs[-1]).negative
    theirs = next((own for each in reversed(taken) if (own := aim_of(each.read, each.run))), None)
    by_eye = any(read.kind == "eye" for each in taken for read in each.read)
    target = aim or theirs or (GREY_CARD if by_eye else None)
    if not any(each.read for each in taken):
        raise Refused(
            f"sheet {row.id} has no readings; take them in with `lamphouse scan {row.id} FILE` or `lamphouse notebook "
            f"readings {row.id} FILE`, or look at it and say --through 10G"
        )
    if target is None:
        raise Refused("say what is aimed at: --aim 0.75, or a reading named 'aim' of a print that is right")
    _solve_and_say(taken, target, row, this, negative, output, read_with, said=bool(aim), as_json=as_json, reversal=reversal)


def _taken(notebook: "Notebook", run: int, per_stop: float) -> "Sheet":
    from timer.measure.sheet import Sheet, given
    from timer.notebook.readings import readings

    row = notebook.run(run)
    if row.paper not in ("ra4", ""):
        raise Refused(f"sheet {run} is black-and-white; packs are solved for colour paper")
    return Sheet(run, tuple(given(row, notebook.exposures(run), per_stop)), tuple(readings(notebook, run)))


def _viewing(text: str) -> Pack:
    try:
        return parse_pack(text)
    except ValueError as error:
        raise Refused(str(error)) from None


def _solve_and_say(
    taken: "list[Sheet]",
    aim: "Aim",
    row: "RunRow",
    head: "Head",
    negative: str,
    output: Path | None,
    read_with: "Instrument",
    *,
    said: bool,
    as_json: bool,
    reversal: bool,
) -> None:
    from timer.documents.files import must_be_free, write_new
    from timer.documents.recipe_file import recipe_toml
    from timer.measure.advise import advice_json, advise, sentence, strip_command
    from timer.measure.next_recipe import next_recipe
    from timer.measure.sheet import readings

    if output:
        must_be_free(output)
    counted = readings(taken, aim, read_with, said=said)
    if not counted:
        raise Refused(f"sheet {row.id} has an aim and no reading of its own patches")
    advice = advise(counted, taken[-1].lights, aim, head.top, reversal=reversal)
    lines = list(advice.notes)
    if advice.strip and not advice.right:
        lines.append(f"to bracket it: {strip_command(advice)}")
    if output and advice.right:
        lines.append(f"{output} is not written: nothing is to be changed")
    elif output:
        recipe, says = next_recipe(advice, row, head.kind, negative)
        write_new(output, recipe_toml(recipe).encode())
        lines += [says] if says else []
        lines.append(f"written to {output}")
    if as_json:
        echo_json(advice_json(advice))
        return
    click.echo(sentence(advice))
    for line in lines:
        click.echo(f"- {line}")
