"""``lamphouse reprint``."""

from pathlib import Path
from typing import Any

import click

from timer.cli.options import run_options
from timer.cli.values import APERTURE, FILE, RUN
from timer.documents.files import write_new
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.errors import LamphouseError
from timer.plans.limits import check_limits
from timer.plans.print import print_plan


@click.command("reprint")
@click.argument("run", type=RUN)
@click.option(
    "--sheet", metavar="SIZE", default="", help="At another size, like 30x40cm, by the arithmetic of `lamphouse resize`."
)
@click.option("--aperture", type=APERTURE, help="At another aperture.")
@click.option("--keep", type=FILE, help="Write its recipe here too.")
@run_options
def command(run: int, sheet: str, aperture: float | None, keep: Path | None, **options: Any) -> int:
    """Make sheet RUN again, from the recipe that it was made from.

    \b
    Examples:
      lamphouse reprint 12 --show
      lamphouse reprint 12 --sheet 30x40cm --aperture 8
    """
    from timer.app.lamp import response
    from timer.app.notebooks import existing
    from timer.cli.console import carry_out
    from timer.documents.settings import load_settings
    from timer.plans.derive import derive
    from timer.plans.recipe_change import RecipeChange

    with existing(options["notebook_path"]) as notebook:
        row = notebook.run(run)
    settings = load_settings()
    if not row.recipe:
        if sheet or aperture or keep:
            raise LamphouseError(f"run {run} is a test, with no recipe to write or to take to another size")
        return carry_out(row.plan, settings, **options)
    recipe = parse_recipe(row.recipe, f"the recipe of run {run}")
    if sheet or aperture:
        moved = derive(recipe, RecipeChange(sheet=sheet, aperture=aperture), file=f"run {run}")
        recipe = moved.recipe
        click.echo("\n".join([*moved.says, *(f"- {line}" for line in moved.advice)]), err=True)
    text = recipe_toml(recipe) if sheet or aperture else row.recipe
    if keep:
        write_new(keep, text.encode())
    plan = print_plan(recipe)
    check_limits(plan, settings.ceiling_s, response(settings, plan))
    return carry_out(plan, settings, recipe=text, **options)
