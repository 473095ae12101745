"""``lamphouse preview``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from timer.app.own_paper import own_paper
from timer.cli.options import refuse_idle
from timer.cli.plain_stream import act
from timer.cli.values import FILE, Finite
from timer.documents.files import must_be_free, read_text, write_new, write_over
from timer.documents.own_picture import picture_path
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError
from timer.plans.model import Plan
from timer.plans.outlines import labels, outlines, proportion
from timer.plans.print import print_plan
from timer.plans.stored import decode_plan

if TYPE_CHECKING:
    from timer.bench.sheet import Picture

PICTURES = {".png": "PNG", ".tif": "TIFF", ".tiff": "TIFF", ".jpg": "JPEG", ".jpeg": "JPEG"}


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
    if output:
        if output.suffix.lower() not in PICTURES:
            raise click.UsageError(f"--output ends in {', '.join(PICTURES)}: by that it is known what picture to write")
        if not force:
            must_be_free(output)
    plan, recipe = _read(source)
    if as_map and recipe is None:
        raise click.UsageError("a printing map is drawn from a recipe, not from a plan")
    from timer.bench import negative as negatives
    from timer.bench import sheet

    own = picture_path(recipe, source) if recipe and not negative else None
    if shown := negative or own:
        film = negatives.load(shown, *size, positive=positive or not negative)
    else:
        film = negatives.own_scene(*size)
    if as_map and recipe and not negative and (own or not outlines(recipe)):
        picture = _sheet_of(own, recipe, max(size))
    else:
        mine, says = own_paper(plan, recipe)
        picture = sheet.render(plan, recipe, film, safelight_s=safelight, own=mine)
        if says:
            click.echo(says, err=True)
    if as_map and recipe:
        picture = sheet.printing_map(picture, recipe, labels(recipe))
    elif plan.patches and not terminal:
        picture = sheet.named_patches(picture, plan)
    if terminal:
        _show(picture)
    if output:
        (write_over if force else write_new)(output, _encoded(picture, PICTURES[output.suffix.lower()]))
        click.echo(f"Written to {output}.")


def _sheet_of(own: Path | None, recipe: Recipe, longer: int) -> "Picture":
    """The printer's own picture, or an empty sheet, in the sheet's proportion."""
    import numpy as np

    from timer.bench.picture import photo

    shape = proportion(recipe)
    return photo(own, longer, shape) if own else np.full((round(longer / shape), longer, 3), 255, dtype=np.uint8)


def _read(source: Path) -> tuple[Plan, Recipe | None]:
    import msgspec

    text = read_text(source)
    if text.lstrip().startswith("{"):
        try:
            plan = decode_plan(text)
        except msgspec.DecodeError as error:
            raise LamphouseError(f"{source}: not a plan: {str(error)[0].lower()}{str(error)[1:]}") from None
        return plan, None
    recipe = parse_recipe(text, str(source))
    return print_plan(recipe), recipe


def _encoded(picture: object, form: str) -> bytes:
    import io

    import numpy as np
    from PIL import Image

    assert isinstance(picture, np.ndarray)
    out = io.BytesIO()
    Image.fromarray(picture).save(out, form)
    return out.getvalue()


def _show(picture: object) -> None:
    import shutil
    import sys

    import numpy as np

    from timer.bench.sheet import half_blocks

    assert isinstance(picture, np.ndarray)
    width = min(100, shutil.get_terminal_size().columns)
    for row in half_blocks(picture, width):
        line = "".join(f"\x1b[38;2;{up[0]};{up[1]};{up[2]};48;2;{low[0]};{low[1]};{low[2]}m▀" for up, low in row)
        act(sys.stdout, line + "\x1b[0m\n")
