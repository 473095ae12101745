"""``lamphouse print``."""

from pathlib import Path
from typing import Any

import click

from timer.cli.options import run_options
from timer.files import read_text
from timer.plan import print_plan
from timer.recipe import parse_recipe


@click.command("print")
@click.argument("recipe", type=click.Path(path_type=Path))
@run_options
def command(recipe: Path, **options: Any) -> int:
    """Make a print from RECIPE, a TOML file.

    \b
    Examples:
      lamphouse print harbour.toml --show
      lamphouse print harbour.toml
      lamphouse print harbour.toml --advance auto --speed 20 --json
    """
    text = read_text(recipe)
    plan = print_plan(parse_recipe(text, str(recipe)))
    from timer.cli.console import carry_out_within_limits

    return carry_out_within_limits(plan, recipe=text, **options)
