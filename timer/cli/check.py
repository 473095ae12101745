"""``lamphouse check``."""

from pathlib import Path

import click

from timer.cli.show import echo_json, plan_lines
from timer.cli.values import FILE
from timer.documents.own_picture import picture_path
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import load_recipe, recipe_schema
from timer.documents.vessels import load_vessels, too_large
from timer.errors import LamphouseError
from timer.plans.limits import check_limits
from timer.plans.print import print_plan
from timer.plans.stored import plan_json


@click.command("check")
@click.argument("recipe", type=FILE, required=False)
@click.option("--json", "as_json", is_flag=True, help='Print JSON: {"ok", "error" or "plan"}.')
@click.option("--schema", is_flag=True, help="Print the JSON Schema of recipes, for an editor.")
def command(recipe: Path | None, as_json: bool, schema: bool) -> int:
    """Check RECIPE and list what it will do; nothing is lit.

    \b
    Example:
      lamphouse check coat.toml
    """
    from timer.app.lamp import response
    from timer.documents.settings import load_settings

    if schema and recipe:
        raise click.UsageError(f"--schema is that of every recipe: leave {recipe} away")
    if schema:
        echo_json(recipe_schema())
        return 0
    if recipe is None:
        raise click.UsageError("name a recipe to check, like coat.toml")
    try:
        read = load_recipe(recipe)
        plan = print_plan(read)
        settings = load_settings()
        check_limits(plan, settings.ceiling_s, response(settings, plan))
        found = [too_large(read.enlargement.sheet, load_vessels()), _no_picture(read, recipe)]
        warnings = [warning for warning in found if warning]
    except LamphouseError as error:
        if not as_json:
            raise
        echo_json({"ok": False, "error": str(error)})
        return error.exit_code
    if as_json:
        echo_json({"ok": True, "plan": plan_json(plan), "warnings": warnings})
    else:
        click.echo("\n".join([*plan_lines(plan), *(f"- {warning}" for warning in warnings), f"{recipe}: good"]))
    return 0


def _no_picture(recipe: Recipe, file: Path) -> str:
    """Why its own picture cannot be shown; a print can be made without it."""
    try:
        path = picture_path(recipe, file)
        if path:
            from timer.bench.picture import photo

            photo(path, 16, 1.0)
    except LamphouseError as error:
        return str(error)
    return ""
