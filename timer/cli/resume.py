"""``lamphouse resume``."""

from typing import Any

import click

from timer.cli.options import RUN_ONLY, refuse_idle, run_options
from timer.cli.show import echo_json
from timer.cli.values import RUN

SHARES = {"least": 0.0, "middle": 0.5, "most": 1.0}


@click.command("resume")
@click.argument("run", type=RUN, required=False)
@click.option(
    "--assume",
    type=click.Choice(list(SHARES)),
    help="Where the light given is known only as a range: count with its least, middle or most.",
)
@click.option("--forget", is_flag=True, help="The sheet is spoilt or gone: do not offer to finish it again.")
@run_options
def command(run: int | None, assume: str | None, forget: bool, **options: Any) -> int:
    """Give an interrupted sheet exactly the missing light: the last one, or run number RUN.

    \b
    Examples:
      lamphouse resume --show
      lamphouse resume
      lamphouse resume 12 --assume most
    """
    from timer.app.runs import given_up, resumed
    from timer.cli.console import carry_out

    if forget:
        less = {option: name for option, name in RUN_ONLY.items() if option != "--notebook"}
        refuse_idle({**less, "--assume": "assume"}, "a sheet that is given up gets no light")
        row = given_up(run, options["notebook_path"])
        if options["as_json"]:
            echo_json({"run": row.id, "state": "forgotten"})
        else:
            click.echo(f"run {row.id} ({row.title}) is given up.")
        return 0
    lamp, path = options["lamp"], options["notebook_path"]
    row, plan, had = resumed(run, share=SHARES[assume] if assume else None, lamp=lamp, notebook_path=path)
    if not options["as_json"]:
        click.echo(f"run {row.id} of {row.begun[:16].replace('T', ' ')}: {row.title}")
        for light in had:
            step = row.plan.steps[light.step]
            click.echo(f"  {step.area:24} had {light.text(3)} s of {step.seconds:.3f} s")
        click.echo("")
    options["lamp"] = lamp or row.lamp or None
    return carry_out(plan, recipe=row.recipe, continues=row.id, lamp_response=row.response, **options)
