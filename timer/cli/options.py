"""Options that several commands share, and refusing those that would do nothing."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import click

from timer.cli.values import FILE, Finite

F = TypeVar("F", bound=Callable[..., Any])

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON.")
lamp_option = click.option(
    "--lamp", metavar="NAME", help="simulated, gpio, controller, or an installed board's; without it, the settings'."
)
notebook_option = click.option(
    "--notebook",
    "notebook_path",
    type=FILE,
    help="Use this notebook file.",
)


RUN_ONLY = {f"--{name}": name for name in ("show", "advance", "pause", "speed", "lamp")} | {"--notebook": "notebook_path"}
"""What only a command that gives light has a use for."""


def was_given(name: str) -> bool:
    """Whether the option of this parameter stood on the command line, be it at its default."""
    return click.get_current_context().get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE


def refuse_idle(names: Mapping[str, str] | str, why: str) -> None:
    """UsageError if one of the options was typed, which here would do nothing: ``why`` says what it belongs to.

    ``names``: parameters by their option, or one option whose parameter is named like it.
    """
    one = {names: names.lstrip("-").replace("-", "_")} if isinstance(names, str) else names
    for option, name in one.items():
        if was_given(name):
            raise click.UsageError(f"{option} would do nothing here: {why}")


def run_options(command: F) -> F:
    """What every command that gives light takes."""
    for option in reversed(
        (
            click.option("--show", is_flag=True, help="List what would be done; give no light."),
            json_option,
            click.option(
                "--advance",
                type=click.Choice(["press", "auto"]),
                default="press",
                show_default=True,
                help="What starts each exposure: Enter or the footswitch (press), or the clock (auto).",
            ),
            click.option(
                "--pause",
                type=Finite("seconds", 0, 600),
                default=2.0,
                show_default=True,
                help="With --advance auto: seconds of dark before each exposure, for the hands.",
            ),
            click.option(
                "--speed",
                type=Finite("times", 1, 1000),
                default=1.0,
                show_default=True,
                help="Time-lapse, for the simulated lamp only.",
            ),
            lamp_option,
            notebook_option,
        )
    ):
        command = option(command)
    return command
