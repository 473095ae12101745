"""``lamphouse preview``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from timer.app.preview import FORMS, in_half_blocks, job_at, picture_of
from timer.cli.options import refuse_idle
from timer.cli.plain_stream import act
from timer.cli.values import FILE, Finite

if TYPE_CHECKING:
    from timer.bench.sheet import Picture


def as_size(ctx: click.Context, param: click.Parameter, value: str) -> tuple[int, int]:
    """An option's callback: ``1000x800`` as width and height in pixels. click.BadParameter for anything else."""
    try:
        width, height = (int(part) for part in value.lower().split("x"))
    except ValueError:
        raise click.BadParameter(f"{value!r} is not a size in pixels; write it like 1000x800", ctx, param) from None
    if not (16 <= width <= 6000 and 16 <= height <= 6000):
        raise click.BadParameter("sides are 16 to 6000 pixels", ctx, param)
    return width, height


@click.command("preview")
@click.argument("source", type=FILE)
@click.option("-o", "--output", type=FILE, help="PNG, TIFF or JPEG to write.")
@click.option("--force", is_flag=True, help="Write over an existing file.")
@click.option(
    "--negative",
    type=FILE,
    help="Picture of a negative; without it, the recipe's own picture, or a built-in one.",
)
@click.option("--positive", is_flag=True, help="The picture is a positive: make a negative of it first.")
@click.option("--size", metavar="PIXELS", callback=as_size, default="1250x1000", show_default=True, help="Pixels.")
@click.option("--map", "as_map", is_flag=True, help="Printing map: the areas outlined, their stops written in.")
@click.option("--terminal", is_flag=True, help="Show it here, in half blocks. With the lights on only.")
@click.option(
    "--safelight",
    type=Finite("seconds", 0, 36000),
    default=0.0,
    help="Seconds that a poor safelight was on: shows its fog.",
)
def command(
    source: Path,
    output: Path | None,
    force: bool,
    negative: Path | None,
    positive: bool,
    size: tuple[int, int],
    as_map: bool,
    terminal: bool,
    safelight: float,
) -> None:
    """What the sheet will look like: SOURCE is a recipe, or a plan as --show --json gives it.

    The paper is the virtual darkroom's, or your own where the recipe names a paper whose curve is kept for its grade
    (`lamphouse paper-curve`).

    \b
    Examples:
      lamphouse preview coat.toml -o sheet.png
      lamphouse preview coat.toml --map -o map.png
      lamphouse strip --from 8 --show --json > strip.json
      lamphouse preview strip.json --terminal
    """
    if not output and not terminal:
        raise click.UsageError("say where to, with -o FILE, or --terminal to see it here")
    if negative is None:
        refuse_idle("--positive", "it is said of a picture of yours (--negative FILE)")
    if output is None:
        refuse_idle("--force", "no file is written; -o FILE writes one")
    if output and output.suffix.lower() not in FORMS:
        raise click.UsageError(f"--output ends in {', '.join(FORMS)}: by that it is known what picture to write")
    job = job_at(source)
    if as_map and job.recipe is None:
        raise click.UsageError("a printing map is drawn from a recipe, not from a plan")
    picture, says = picture_of(
        job,
        size,
        negative=negative,
        positive=positive,
        safelight_s=safelight,
        as_map=as_map,
        named=not terminal,
        output=output,
        over=force,
    )
    if says:
        click.echo(says, err=True)
    if terminal:
        _show(picture)
    if output:
        click.echo(f"Written to {output}.")


def _show(picture: "Picture") -> None:
    import shutil
    import sys

    for row in in_half_blocks(picture, min(100, shutil.get_terminal_size().columns)):
        line = "".join(f"\x1b[38;2;{up[0]};{up[1]};{up[2]};48;2;{low[0]};{low[1]};{low[2]}m▀" for up, low in row)
        act(sys.stdout, line + "\x1b[0m\n")
