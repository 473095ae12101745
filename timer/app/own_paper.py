"""The printer's own paper in a picture of the sheet: the curve that is kept of it, and the words for that.

What is imported within a function is for the start-up time: no command that gives light needs it.
"""

import math
from dataclasses import replace

from timer.craft.bw_curve import PaperCurve, iso_points, rounded_r
from timer.documents.paper_curves import comparable, curve_named
from timer.documents.paper_curves_file import curves_file, load_curves
from timer.documents.recipe import Recipe
from timer.plans.model import Plan
from timer.plans.recipe_change import RecipeChange


def own_paper(plan: Plan, recipe: Recipe | None) -> tuple[PaperCurve | None, str]:
    """The kept curve of the recipe's paper and grade over lux seconds of the bench, and what to say of it; None where the
    recipe names no paper that is kept, or its light comes through several filters.

    Its exposures being relative, it lies at the speed of the recipe, else where the bench has a paper of that grade.
    """
    if recipe is None or not recipe.paper.name or recipe.paper.kind == "ra4":
        return None, ""
    from timer.bench import sheet

    curves = load_curves(curves_file())
    kept = curve_named(curves, recipe.paper.name, recipe.filters.grade)
    if kept is None:
        return None, ""
    if not sheet.one_curve(plan):
        return None, f"your curve of {kept.name} is not used: this print's light comes through several filters"
    iso = iso_points(kept.curve)
    says = f"paper: your own curve of {kept.name}, R{rounded_r(iso.r)}"
    if kept.lux:
        return kept.curve, says
    speed = recipe.paper.speed or _usual_speed(recipe.filters.grade)
    return kept.curve.moved(math.log10(1000 / speed) - iso.speed), says


def _usual_speed(grade: str) -> float:
    from timer.bench import paper

    return paper.filter_speed(grade) if grade else paper.SPEED_OF_FILTERS


def with_own_grade(recipe: Recipe, target: RecipeChange) -> RecipeChange:
    """``target`` with the time between the two grades as the kept curves of the recipe's paper have it, where it changes the
    grade alone and both are kept, of one set-up: the light for one middle tone, 0.6 above base."""
    if not target.grade or not recipe.paper.name or target.paper not in ("", recipe.paper.name):
        return target
    curves = load_curves(curves_file())
    before, after = (curve_named(curves, recipe.paper.name, grade) for grade in (recipe.filters.grade, target.grade))
    if before is None or after is None or not comparable(before, after):
        return target
    return replace(target, grade_time=10 ** (iso_points(after.curve).speed - iso_points(before.curve).speed))
