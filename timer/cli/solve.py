"""``lamphouse solve``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from timer.cli.heads import chosen, head_options
from timer.cli.options import json_option, notebook_option, refuse_idle, was_given
from timer.cli.show import echo_json
from timer.cli.values import FILE, RUN, Finite, Line, Whole

if TYPE_CHECKING:
    from timer.measure.sheet import Aim, Instrument


def as_aim(ctx: click.Context, param: click.Parameter, value: str | None) -> "Aim | None":
    """Callback: one density for a neutral, or three: red, green, blue."""
    if value is None:
        return None
    from timer.measure.sheet import parse_aim

    try:
        return parse_aim(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from None


@click.command("solve")
@click.argument("runs", type=RUN, nargs=-1, required=True)
@click.option(
    "--aim",
    metavar="DENSITIES",
    callback=as_aim,
    help="Densities to reach: red, green, blue, or one for all.  [default: sample 'aim']",
)
@click.option(
    "--read-with",
    type=click.Choice(["densitometer", "scan", "eye"]),
    default="densitometer",
    show_default=True,
    help="What readings were taken with that do not say: how much they count.",
)
@click.option(
    "--through", metavar="FILTER", type=Line(30), help="By eye: the viewing filter that it looks right through, like 10G."
)
@click.option("--darker", type=Finite("density", -1, 1), default=0.0, help="By eye: how much darker than right, in density.")
@click.option(
    "--patch", type=Whole("patch", 1, 99), help="By eye: the patch of a test sheet that was looked at; alone: it is right."
)
@click.option("--reversal", is_flag=True, help="Paper for prints from slides, which gets lighter with light.")
@click.option("-o", "--output", type=FILE, help="Write the next recipe here.")
@click.option("--picture", type=FILE, help="Draw it here: readings, aim, next (PNG).")
@click.option("--table", "as_table", is_flag=True, help="The same as a table: what was read, and how far off the model.")
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
    picture: Path | None,
    as_table: bool,
    head: str | None,
    top: float | None,
    per_stop: float | None,
    as_json: bool,
    notebook_path: Path | None,
) -> None:
    """Pack and time for the next sheet, from readings of one grey place on the sheets RUNS of one negative, oldest first.

    Readings are taken into a sheet by `lamphouse notebook readings` or `lamphouse scan`; samples are named by their patch
    (1, 2, ...), and a print that is right, read with them, is 'aim'. A look at the last sheet is kept with it, and counts.
    Of a second grey ('1 dark', 'aim dark'; or light) it is said what stays off when the first is matched: crossover.

    \b
    Examples:
      lamphouse solve 12 --aim "0.76 0.74 0.71"
      lamphouse solve 12 13 -o quay-3.toml --picture quay-3.png
      lamphouse solve 13 --through 10G --darker 0.1
      lamphouse solve 14 --patch 4 # a ring-around: its fourth print is right
    """
    if as_json:
        refuse_idle({"--table": "as_table"}, "--json has all that is in it")
    from timer.app.next_sheet import Look, solve
    from timer.app.solving import is_as_printed

    looked = through is not None or was_given("darker") or patch is not None
    found, says = solve(
        notebook_path,
        runs,
        chosen(head, top, per_stop),
        made_on=head or "",
        look=Look(through or "", darker, patch) if looked else None,
        aim=aim,
        read_with=read_with,
        reversal=reversal,
        output=output,
        picture=picture,
    )
    if as_json:
        echo_json(found.data())
        return
    lines = list(found.advice.notes)
    if found.bracket:
        lines.append(f"to bracket it: {found.bracket}")
    if output and is_as_printed(found):
        lines.append(f"{output} is not written: nothing is to be changed")
    elif output:
        lines += [says] if says else []
        lines.append(f"written to {output}")
    if picture:
        lines.append(f"drawn in {picture}")
    click.echo(found.says)
    for line in lines:
        click.echo(f"- {line}")
    if as_table:
        click.echo("\n".join(["", *found.table()]))
