"""``lamphouse print``."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from timer.app.lamp import response
from timer.cli.options import run_options
from timer.cli.values import FILE
from timer.documents.files import read_text
from timer.documents.recipe_file import parse_recipe
from timer.documents.settings import layers, load_settings
from timer.documents.vessels import load_vessels, too_large
from timer.plans.print import print_plan
from timer.plans.strip_colour import with_colour_note


@click.command("print")
@click.argument("recipe", type=FILE)
@run_options
def command(recipe: Path, **options: Any) -> int:
    """Make a print from RECIPE, a TOML file.

    \b
    Examples:
      lamphouse print coat.toml --show
      lamphouse print coat.toml
      lamphouse print coat.toml --advance auto --speed 20 --json
    """
    text = read_text(recipe)
    parsed = parse_recipe(text, str(recipe))
    plan = print_plan(parsed)
    warning = too_large(parsed.enlargement.sheet, load_vessels())
    if warning:
        plan = replace(plan, notes=(*plan.notes, warning))
    settings = load_settings()
    plan = with_colour_note(plan, response(settings, plan), layers(settings))
    from timer.cli.console import carry_out_within_limits

    return carry_out_within_limits(plan, recipe=text, **options)
