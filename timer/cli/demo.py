"""``lamphouse demo``."""

import tempfile
from fractions import Fraction

import click

from timer.app.jobs import example
from timer.cli.console import carry_out
from timer.cli.values import Finite
from timer.plans.strip import strip_plan


@click.command("demo")
@click.option(
    "--speed",
    type=Finite("times", 1, 1000),
    default=10.0,
    show_default=True,
    help="How much faster than a real lamp.",
)
def command(speed: float) -> int:
    """A strip, then a print with dodges and burns, on the simulated lamp in time-lapse.

    Its notebook is a temporary one: nothing of yours is touched.

    \b
    Example:
      lamphouse demo --speed 30
    """
    ours = example()
    plans = [
        (strip_plan(8.0, Fraction(1, 3), 5, "cover", paper="bw"), ""),
        (ours.plan, ours.text),
    ]
    click.echo(f"The simulated lamp, {speed:g} times as fast as a real one. No light is switched on your bench.")
    with tempfile.TemporaryDirectory(prefix="lamphouse-demo-") as folder:
        import os

        os.environ["LAMPHOUSE_HOME"] = folder
        for plan, recipe in plans:
            code = carry_out(plan, advance="auto", speed=speed, lamp="simulated", recipe=recipe)
            if code:
                return code
        from timer.app.notebooks import existing

        with existing() as notebook:
            click.echo("\nThe notebook now has:")
            for row in reversed(notebook.runs()):
                light = sum((e.low_us or 0) for e in notebook.exposures(row.id)) / 1e6
                click.echo(f"  run {row.id}  {row.state:9} {row.kind:6} {light:6.2f} s of light  {row.title}")
    return 0
