"""``lamphouse strip``."""

from fractions import Fraction
from typing import Any

import click

from timer.cli.heads import chosen, head_options
from timer.cli.options import SECONDS, as_stops, run_options
from timer.craft.heads import parse_setting, text_of
from timer.craft.strip import MOST_PATCHES, Way
from timer.documents.recipe import Filters
from timer.documents.recipe_light import Pass, passes, with_setting
from timer.documents.settings import Head
from timer.errors import Refused
from timer.plans.strip import strip_plan
from timer.plans.strip_colour import usual_way, with_colour_note


@click.command("strip")
@click.option("--from", "first", type=SECONDS, help="Seconds of the lightest patch.")
@click.option("--around", "middle", type=SECONDS, help="Seconds of the middle of the strip.")
@click.option("--step", callback=as_stops, default="1/3", show_default=True, help="Stops between patches.")
@click.option(
    "--patches",
    type=click.IntRange(2, MOST_PATCHES),
    default=5,
    show_default=True,
    help="2 for halves, 3 for thirds.",
)
@click.option(
    "--way",
    type=click.Choice(["cover", "uncover", "window"]),
    help="Cover patch by patch with a card, uncover patch by patch, or each patch alone through a window.  "
    "[default: window on ra4 paper, else cover]",
)
@click.option(
    "--paper", type=click.Choice(["bw", "ra4", "pan"]), help="bw (black-and-white), ra4 (colour) or pan (panchromatic)."
)
@click.option("--pack", help="The filters that are in, like '60M 50Y'; of a tricolour head its lights, given in turn.")
@head_options
@run_options
def command(
    first: float | None,
    middle: float | None,
    step: Fraction,
    patches: int,
    way: Way | None,
    paper: str | None,
    pack: str | None,
    head: str | None,
    top: float | None,
    per_stop: float | None,
    **options: Any,
) -> int:
    """A test strip in stops: the plan says what to cover and which end is darkest.

    \b
    Examples:
      lamphouse strip --from 8 --step 1/3 --patches 7 --way cover --show
      lamphouse strip --around 12 --step 1/4 --patches 3
      lamphouse strip --from 6 --paper ra4 --show
    """
    if (first is None) == (middle is None):
        raise click.UsageError("say where the strip starts with --from SECONDS, or its middle with --around SECONDS")
    try:
        parts = _parts(pack, chosen(head, top, per_stop)) if pack else (Pass(""),)
        plan = strip_plan(
            first or middle or 0.0,
            step,
            patches,
            way or usual_way(paper or ""),
            around=first is None,
            paper=paper or "",
            parts=parts,
        )
    except ValueError as error:
        raise Refused(str(error)) from None
    if paper == "ra4":
        from timer.app.lamp import response
        from timer.documents.settings import layers, load_settings

        settings = load_settings()
        plan = with_colour_note(plan, response(settings, plan), layers(settings))
    from timer.cli.console import carry_out_within_limits

    return carry_out_within_limits(plan, **options)


def _parts(pack: str, head: Head) -> tuple[Pass, ...]:
    """What a strip through ``pack`` is exposed with. ValueError when it is none."""
    setting = parse_setting(pack, head.kind, head.per_stop)
    if head.kind != "tricolour":
        return (Pass(text_of(setting)),)
    return passes(with_setting(Filters(head="tricolour"), setting))
