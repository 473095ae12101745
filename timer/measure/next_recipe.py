"""The recipe that a solution leads to: the sheet's own with the new pack and time, or a plain one after a test."""

import hashlib
import math
from dataclasses import replace
from fractions import Fraction

import msgspec

from timer.craft.lights import Lights
from timer.documents.recipe import Derived, Filters, Paper, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import with_setting
from timer.errors import LamphouseError, Refused
from timer.measure.advise import Advice, head_of, sentence
from timer.plans.derive import derive
from timer.plans.other_paper import in_seconds
from timer.plans.recipe_change import RecipeChange

MARKS = (1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 22.0, 32.0, 45.0)


def next_recipe(advice: Advice, text: str, run: int, head: str, negative: str = "") -> tuple[Recipe, str]:
    """The recipe to print next, and what must be said of its aperture. Refused when it could not be made.

    ``text``: the recipe that sheet ``run`` was printed from, or made for; empty for none.
    """
    try:
        if not text:
            return _plain(advice, head, negative, run), ""
        return _changed(advice, parse_recipe(text), text, head)
    except LamphouseError as error:
        raise Refused(f"no recipe can be written: {error}") from None


def _changed(advice: Advice, recipe: Recipe, text: str, head: str) -> tuple[Recipe, str]:
    """All of ``recipe`` follows: burns in seconds too. The model's time stands in the place of the filter rule's."""
    seconds, aperture, says = _seconds(advice, recipe.enlargement.aperture)
    kind = recipe.filters.head or head_of(advice.setting, head)
    change = RecipeChange(pack=advice.setting, head=kind, aperture=aperture)
    by_rule = derive(recipe, change).recipe.base_s
    rest = Fraction(math.log2(seconds / by_rule)).limit_denominator(4096)
    made = derive(recipe, replace(change, stops=rest), sha256=hashlib.sha256(text.encode()).hexdigest()).recipe
    assert made.derived
    derived = msgspec.structs.replace(made.derived, says=(sentence(advice),), stops=None)
    return _read_again(msgspec.structs.replace(made, base_s=round(seconds, 2), derived=derived)), says


def _plain(advice: Advice, head: str, negative: str, run: int) -> Recipe:
    filters = with_setting(Filters(head=head_of(advice.setting, head)), advice.setting)
    if isinstance(advice.setting, Lights):
        filters = msgspec.structs.replace(filters, per_stop=advice.setting.per_stop)
    title = negative[:60] or f"after test sheet {run}"
    seconds, _, _ = _seconds(advice, None)
    derived = Derived(f"test sheet {run}", says=(sentence(advice),))
    made = Recipe(
        recipe=1,
        title=title,
        base_s=round(seconds, 2),
        paper=Paper("ra4"),
        negative=negative,
        filters=in_seconds(filters, round(seconds, 2)),
        derived=derived,
    )
    return _read_again(made)


def _seconds(advice: Advice, aperture: float | None) -> tuple[float, float | None, str]:
    """Base, new aperture if the recipe has one that moves, and a sentence where it has not."""
    stops = advice.then.stops
    if not stops:
        return advice.then.seconds, None, ""
    if aperture in MARKS and 0 <= MARKS.index(aperture) - stops < len(MARKS):
        return advice.then.seconds, MARKS[MARKS.index(aperture) - stops], ""
    at_once = advice.then.seconds * 2.0**stops
    return at_once, None, f"the recipe has {at_once:.1f} s, which is for the aperture as it was"


def _read_again(recipe: Recipe) -> Recipe:
    return parse_recipe(recipe_toml(recipe), "the next recipe")
