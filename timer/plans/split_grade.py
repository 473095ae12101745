"""Split grade: two exposures of the whole sheet, a soft and a hard one, each found by a strip of its own.

The first strip is an ordinary one through the first grade. The second is made over it: the whole sheet has the first
exposure as it was found, then a strip through the second grade, so that the two numbers are read as the print will have
them. For the screen and the command line alike: ``second_strip`` plans it, ``split_recipe`` writes the two numbers.
"""

from dataclasses import dataclass, replace
from fractions import Fraction

import msgspec

from timer.craft.stops import digits
from timer.craft.strip import Way
from timer.documents.recipe import Burn, Filters, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import Pass, filters_text
from timer.plans.cue_points import marks
from timer.plans.magnification import kept
from timer.plans.model import Plan, Step
from timer.plans.print import filter_change
from timer.plans.strip import strip_plan

WHOLE = "whole sheet"
"""What the second exposure of a split-grade print is called in its recipe."""


@dataclass(frozen=True)
class Split:
    """What a strip of the second exposure lies over: ``first_s`` full-light seconds through ``first``."""

    first: Filters
    first_s: float
    second: Filters

    def __str__(self) -> str:
        one, other = (filters_text(filters) or "no filter" for filters in (self.first, self.second))
        return f"{other} over {digits(self.first_s)} s {one}"


def split_in(plan: Plan, recipe: Recipe) -> Split | None:
    """What the strip of ``plan``, made for the split-grade print ``recipe``, lies over; None when it is no such strip."""
    lit = [step for step in plan.steps if step.do == "expose"]
    second = split_of(recipe)
    if not second or second.filters is None or len(lit) < 2:
        return None
    through = [step.filters for step in lit]
    if set(through[1:]) != {filters_text(second.filters)} or through[0] != filters_text(recipe.filters):
        return None
    return Split(recipe.filters, lit[0].seconds, second.filters) if through[0] != through[1] else None


def second_strip(
    first: Filters,
    first_s: float,
    second: Filters,
    seconds: float,
    step: Fraction,
    count: int,
    way: Way,
    *,
    around: bool = False,
    paper: str = "",
) -> Plan:
    """A strip through ``second``, over one exposure of ``first_s`` full-light seconds through ``first`` on all of it.

    Its patches are the times of the second exposure. ValueError as ``strip_plan``, or for two alike filters.
    """
    one, other = filters_text(first), filters_text(second)
    if one == other:
        raise ValueError(f"both exposures are through {one or 'no filter'}; a strip over another is for a second grade")
    if not 0 < first_s < float("inf"):
        raise ValueError(f"the first exposure needs a time of more than 0 seconds, not {first_s:g}")
    strip = strip_plan(seconds, step, count, way, around=around, paper=paper, parts=(Pass(other),))
    everything = f"patches 1 to {count}"
    begin = (
        Step("wait", f"{filter_change(one)}; strip uncovered", filters=one),
        Step("expose", f"first exposure, {one or 'no filter'}: strip uncovered", everything, first_s, one, marks(first_s)),
    )
    note = (
        f"every patch has {digits(first_s)} s through {one or 'no filter'} too; the seconds of a patch are those through "
        f"{other or 'no filter'}"
    )
    return replace(
        strip,
        title=f"{strip.title}, {other or 'no filter'} over {digits(first_s)} s {one or 'no filter'}",
        steps=(*begin, *strip.steps),
        notes=(*strip.notes, note),
    )


def split_recipe(recipe: Recipe, first: Filters, first_s: float, second: Filters, second_s: float) -> Recipe:
    """``recipe`` as a split-grade print of the two numbers that were picked; its other areas stay as they are.

    LamphouseError when it could not be made.
    """
    known = next((burn for burn in recipe.burn if burn.area == WHOLE), Burn(WHOLE))
    whole = msgspec.structs.replace(known, stops=None, seconds=kept(second_s), filters=second)
    rest = tuple(burn for burn in recipe.burn if burn.area != WHOLE)
    made = msgspec.structs.replace(recipe, base_s=kept(first_s), filters=first, burn=(whole, *rest))
    return parse_recipe(recipe_toml(made), "the split-grade recipe")


def split_of(recipe: Recipe) -> Burn | None:
    """The second exposure of a split-grade print, or None when ``recipe`` is none."""
    return next((burn for burn in recipe.burn if burn.area == WHOLE and burn.seconds is not None), None)
