"""``lamphouse check``."""

from pathlib import Path

import click

from timer.cli.show import echo_json, plan_lines
from timer.cli.values import FILE
from timer.documents.recipe_schema import recipe_schema
from timer.errors import LamphouseError
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
    from timer.app.cautions import checked

    if schema and recipe:
        raise click.UsageError(f"--schema is that of every recipe: leave {recipe} away")
    if schema:
        echo_json(recipe_schema())
        return 0
    if recipe is None:
        raise click.UsageError("name a recipe to check, like coat.toml")
    try:
        job, warnings = checked(recipe)
    except LamphouseError as error:
        if not as_json:
            raise
        echo_json({"ok": False, "error": str(error)})
        return error.exit_code
    if as_json:
        echo_json({"ok": True, "plan": plan_json(job.plan), "warnings": warnings})
    else:
        click.echo("\n".join([*plan_lines(job.plan), *(f"- {warning}" for warning in warnings), f"{recipe}: good"]))
    return 0
