"""Options and values that several commands share."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

import click

from timer.craft.stops import parse_stops
from timer.text import unfit

F = TypeVar("F", bound=Callable[..., Any])


def as_stops(ctx: click.Context, param: click.Parameter, value: str) -> Fraction:
    """Callback of an option that takes an amount in stops."""
    try:
        return parse_stops(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from None


def was_given(name: str) -> bool:
    """Whether the option of the command at hand was typed, and is not at its default."""
    return click.get_current_context().get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE


class Finite(click.FloatRange):
    """A float in a range; inf and nan are in none."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        number: float = super().convert(value, param, ctx)
        if not abs(number) < float("inf"):
            self.fail(f"{value} is not a plain number.", param, ctx)
        return number


class Line(click.types.StringParamType):
    """Words that will be shown: no control characters, ``most`` letters; ``lines``: it may have several."""

    name = "text"

    def __init__(self, most: int = 400, *, lines: bool = False) -> None:
        self._most, self._lines = most, lines

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        found = unfit(value, lines=self._lines)
        if found:
            self.fail(f"it has {found}; write it in plain text.", param, ctx)
        if len(value) > self._most:
            self.fail(f"it is {len(value)} letters long; {self._most} at most.", param, ctx)
        return str(value)


RUN = click.IntRange(1, 2**63 - 1)
"""The number of a run, which is its sheet's."""
SECONDS = Finite(min=0, min_open=True, max=3600)

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON.")
lamp_option = click.option(
    "--lamp", metavar="NAME", help="simulated, gpio, controller, or an installed board's; without it, the settings'."
)
notebook_option = click.option(
    "--notebook",
    "notebook_path",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Use this notebook file.",
)


def run_options(command: F) -> F:
    """What every command that gives light takes."""
    for option in reversed(
        (
            click.option("--show", is_flag=True, help="List what would be done; give no light."),
            click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout."),
            click.option(
                "--advance",
                type=click.Choice(["press", "auto"]),
                default="press",
                show_default=True,
                help="What starts each exposure: Enter or the footswitch (press), or the clock (auto).",
            ),
            click.option(
                "--pause",
                type=Finite(min=0, max=600),
                default=2.0,
                show_default=True,
                help="With --advance auto: seconds of dark before each exposure, for the hands.",
            ),
            click.option(
                "--speed",
                type=Finite(min=1, max=1000),
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
