"""``lamphouse resume``."""

from typing import Any

import click

from timer.cli.options import RUN_ONLY, refuse_idle, run_options
from timer.cli.show import echo_json
from timer.cli.values import RUN
from timer.errors import LamphouseError

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
    from timer.app.lamp import keeper_config
    from timer.app.lamp_now import user_of
    from timer.app.notebooks import begun
    from timer.cli.console import carry_out
    from timer.documents.settings import load_settings
    from timer.run.resume import record_lookup, rest, same_lamp

    if forget:
        less = {option: name for option, name in RUN_ONLY.items() if option != "--notebook"}
        refuse_idle({**less, "--assume": "assume"}, "a sheet that is given up gets no light")
    settings = load_settings()
    with begun(options["notebook_path"]) as notebook:
        row = notebook.run(run) if run is not None else next(iter(notebook.unfinished(1)), None)
        if row is None:
            raise LamphouseError("nothing was interrupted: there is no unfinished sheet in the notebook")
        if row.state in ("finished", "continued", "forgotten"):
            raise LamphouseError(f"run {row.id} is {row.stands}: there is nothing of it to resume")
        if forget:
            notebook.end_run(row.id, "forgotten", "given up by you")
            if options["as_json"]:
                echo_json({"run": row.id, "state": "forgotten"})
            else:
                click.echo(f"run {row.id} ({row.title}) is given up.")
            return 0
        config = keeper_config(settings, lamp=options["lamp"] or row.lamp or None)
        same_lamp(row, config)
        if other := user_of(config):
            raise LamphouseError(f"another Lamphouse (process {other}) has the lamp; end it, then resume what it left")
        with record_lookup(notebook, row, config) as look_up:
            plan, had = rest(notebook, row, look_up, share=SHARES[assume] if assume else None)
    options["lamp"] = config.lamp
    if not options["as_json"]:
        click.echo(f"run {row.id} of {row.begun[:16].replace('T', ' ')}: {row.title}")
        for h in had:
            step = row.plan.steps[h.step]
            click.echo(f"  {step.area:24} had {h.text(3)} s of {step.seconds:.3f} s")
        click.echo("")
    return carry_out(
        plan,
        settings,
        recipe=row.recipe,
        continues=row.id,
        lamp_response=row.response,
        **options,
    )
