"""``lamphouse print``."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from timer.app.cautions import said_of_colour, vessel_note
from timer.app.jobs import load_job
from timer.cli.options import run_options
from timer.cli.values import FILE


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
    job = load_job(recipe)
    plan = said_of_colour(replace(job.plan, notes=(*job.plan.notes, *vessel_note(job))))
    from timer.cli.console import carry_out_within_limits

    return carry_out_within_limits(plan, recipe=job.text, **options)
