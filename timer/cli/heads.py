"""The options that say which head a pack is for, shared by every command that takes one."""

from collections.abc import Callable
from typing import Any, TypeVar

import click

from timer.app import head as app_head
from timer.cli.values import Finite
from timer.craft.heads import HEADS
from timer.documents.settings import Head

HEAD_OPTIONS = {"--head": "head", "--top": "top", "--per-stop": "per_stop"}
F = TypeVar("F", bound=Callable[..., Any])

TOP = Finite("units", 1, 10_000)
top_option = click.option("--top", type=TOP, help="Where the head's dials or levels end; no pack beyond is offered.")


def head_options(command: F) -> F:
    """--head, --top and --per-stop; what is not said is as the settings have it (``chosen``)."""
    for option in (
        click.option("--per-stop", type=Finite("steps", 1, 1000), help="Additive: steps of its levels that make one stop."),
        top_option,
        click.option(
            "--head",
            type=click.Choice(list(HEADS)),
            help="CP filters in a drawer, a dichroic head, three lights at once (levels), or three in turn (seconds).",
        ),
    ):
        command = option(command)
    return command


def chosen(head: str | None, top: float | None, per_stop: float | None) -> Head:
    """As ``app.head.chosen``; a scale for a head that has none is refused."""
    if per_stop and app_head.chosen(head, top, None).kind != "additive":
        raise click.UsageError("--per-stop would do nothing here: it is the scale of an additive head (--head additive)")
    return app_head.chosen(head, top, per_stop)
