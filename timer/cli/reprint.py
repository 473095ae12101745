"""``lamphouse reprint``."""

from pathlib import Path
from typing import Any

import click

from timer.cli.options import run_options
from timer.cli.values import APERTURE, FILE, RUN
from timer.errors import LamphouseError


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
    from timer.app.archive import opened
    from timer.app.writing import at_size, write_at
    from timer.cli.console import carry_out, carry_out_within_limits
    from timer.plans.recipe_change import RecipeChange

    with opened(options["notebook_path"]) as archive:
        job = archive.again(archive.run(run))
    if job.recipe is None:
        if sheet or aperture or keep:
            raise LamphouseError(f"run {run} is a test, with no recipe to write or to take to another size")
        return carry_out(job.plan, **options)
    if sheet or aperture:
        job, says = at_size(job, RecipeChange(sheet=sheet, aperture=aperture))
        click.echo("\n".join(says), err=True)
    if keep and job.recipe:
        write_at(keep, job.recipe)
    return carry_out_within_limits(job.plan, recipe=job.text, **options)
