"""``lamphouse strip``."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import click

from timer.app.cautions import said_of_colour
from timer.app.jobs import load_job
from timer.cli.heads import HEAD_OPTIONS, chosen, head_options
from timer.cli.options import refuse_idle, run_options
from timer.cli.values import APERTURE, FILE, SECONDS, Line, Whole, as_stops
from timer.craft.heads import parse_setting, within
from timer.craft.strip import MAX_PATCHES, Way
from timer.documents.recipe import GRADES, Filters, Recipe
from timer.documents.recipe_light import Pass, dry_note, passes, with_setting
from timer.documents.settings import Head
from timer.errors import Refused
from timer.plans.recipe_change import described
from timer.plans.split_grade import second_strip, split_recipe
from timer.plans.strip import strip_plan
from timer.plans.strip_colour import usual_way
from timer.plans.strip_target import About, strip_target, usual_paper


@click.command("strip")
@click.option("--from", "first", type=SECONDS, help="Seconds of the lightest patch.")
@click.option("--around", "middle", type=SECONDS, help="Seconds of the middle of the strip.")
@click.option("--step", metavar="STOPS", callback=as_stops, default="1/3", show_default=True, help="Stops between patches.")
@click.option(
    "--patches",
    type=Whole("number", 2, MAX_PATCHES),
    default=5,
    show_default=True,
    help="How many; 2 for halves, 3 for thirds of the sheet.",
)
@click.option(
    "--way",
    type=click.Choice(["cover", "uncover", "window"]),
    help="Cover patch by patch with a card, uncover patch by patch, or each patch alone through a window.  "
    "[default: window on ra4 paper, else cover]",
)
@click.option(
    "--paper",
    type=click.Choice(["bw", "ra4", "pan"]),
    help="bw (black-and-white), ra4 (colour) or pan (panchromatic).  [default: ra4 with --pack, bw with --grade]",
)
@click.option(
    "--pack", metavar="PACK", help="The filters that are in, like '60M 50Y'; of a tricolour head its lights, given in turn."
)
@click.option("--over", type=SECONDS, help="Split grade: seconds of the first exposure, over which the strip is made.")
@click.option("--over-grade", type=click.Choice(GRADES), help="The grade of the first exposure, 00 to 5.", metavar="GRADE")
@click.option(
    "--grade",
    type=click.Choice(GRADES),
    help="The contrast grade that is in, 00 to 5.",
    metavar="GRADE",
)
@click.option("--for", "target", type=FILE, help="The recipe that the strip is made for.")
@click.option("--negative", metavar="NAME", type=Line(), help="The negative, as you call it.")
@click.option("--size", metavar="SIZE", help="Of the print that it is for, like 18x24cm.")
@click.option("--aperture", type=APERTURE, help="The lens as it is stopped down.")
@click.option("--paper-name", metavar="NAME", type=Line(), help="The paper, as you call it.")
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
    grade: str | None,
    over: float | None,
    over_grade: str | None,
    target: Path | None,
    negative: str | None,
    size: str | None,
    aperture: float | None,
    paper_name: str | None,
    head: str | None,
    top: float | None,
    per_stop: float | None,
    **options: Any,
) -> int:
    """A test strip in stops: the plan says what to cover and which end is darkest.

    What it is made for goes into the notebook with it: a recipe (--for), or negative, size, aperture, paper and filters.
    `lamphouse strips` lists those not read yet, `lamphouse read` makes a recipe of one.

    \b
    Examples:
      lamphouse strip --from 8 --step 1/3 --patches 7 --way cover --show
      lamphouse strip --around 12 --step 1/4 --patches 3
      lamphouse strip --from 6 --paper ra4 --show
      lamphouse strip --from 10 --step 5/12 --patches 3 --negative stair \\
          --grade 2 --size 18x24cm --aperture 8
      lamphouse strip --from 3 --grade 5 --over 12 --over-grade 00 \\
          --negative stair
      lamphouse strip --for stair.toml --step 1/6 --patches 3
    """
    if (over is None) != (over_grade is None):
        raise click.UsageError("a strip over a first exposure needs its seconds and its grade: --over 12 --over-grade 00")
    if over and not grade:
        raise click.UsageError("say the grade of the strip itself, the second exposure: --grade 5")
    if not pack:
        refuse_idle(HEAD_OPTIONS, "the head is asked for a pack (--pack)")
    recipe = load_job(target).recipe if target else None
    if recipe and first is None and middle is None:
        middle = recipe.base_s
    if (first is None) == (middle is None):
        raise click.UsageError("say where the strip starts with --from SECONDS, or its middle with --around SECONDS")
    try:
        filters = _filters(pack, grade, chosen(head, top, per_stop), recipe)
        paper = paper or (recipe.paper.kind if recipe else usual_paper(filters) if filters else None)
        about = About(negative, size, aperture, paper_name)
        seconds, how = first or middle or 0.0, way or usual_way(paper or "")
        made_for = strip_target(recipe, about, seconds, paper, filters)
        if over and filters and made_for:
            under = Filters(grade=over_grade or "")
            made_for = split_recipe(made_for, under, over, filters, seconds)
            plan = second_strip(under, over, filters, seconds, step, patches, how, around=first is None, paper=paper or "")
        else:
            parts = passes(filters) if filters else (Pass(""),)
            plan = strip_plan(seconds, step, patches, how, around=first is None, paper=paper or "", parts=parts)
    except ValueError as error:
        raise Refused(str(error)) from None
    if made_for:
        plan = replace(plan, notes=(*plan.notes, *dry_note(made_for), f"made for: {made_for.title}, {described(made_for)}"))
    if paper == "ra4":
        plan = said_of_colour(plan)
    from timer.cli.console import carry_out_within_limits

    return carry_out_within_limits(plan, made_for=made_for, **options)


def _filters(pack: str | None, grade: str | None, head: Head, recipe: Recipe | None) -> Filters | None:
    """What the strip is exposed through: as said, else as its recipe has it. ValueError when it is none."""
    if pack and grade:
        raise ValueError("give a grade or a pack, not both")
    if grade:
        return Filters(grade=grade)
    if not pack:
        return recipe.filters if recipe else None
    setting = within(parse_setting(pack, head.kind, head.per_stop), head.kind, head.top)
    return with_setting(Filters(head=head.kind, per_stop=getattr(setting, "per_stop", 0.0)), setting)
