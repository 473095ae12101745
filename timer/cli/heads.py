"""The options that say which head a pack is for, shared by every command that takes one."""

from collections.abc import Callable
from typing import Any, TypeVar

import click

from timer.cli.options import Finite
from timer.craft.heads import HEADS

F = TypeVar("F", bound=Callable[..., Any])

TOP = Finite(min=1, max=10_000)
top_option = click.option("--top", type=TOP, help="Where the head's dials or levels end; no pack beyond is offered.")


def head_options(command: F) -> F:
    """--head, --top and --per-stop; what is not said is as the settings have it (``app.head.chosen``)."""
    for option in (
        click.option("--per-stop", type=Finite(min=1, max=1000), help="Additive: steps of its levels that make one stop."),
        top_option,
        click.option(
            "--head",
            type=click.Choice(list(HEADS)),
            help="CP filters in a drawer, a dichroic head, three lights at once (levels), or three in turn (seconds).",
        ),
    ):
        command = option(command)
    return command
