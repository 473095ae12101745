"""A recipe from a test sheet that was read place by place."""

from dataclasses import dataclass
from fractions import Fraction

import msgspec

from timer.craft.read_by_area import Area, Way, read_areas
from timer.craft.stops import digits, format_stops
from timer.documents.recipe import Burn, Derived, Dodge, Filters, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import filters_text
from timer.plans.area_change import like
from timer.plans.model import Plan
from timer.plans.split_grade import WHOLE, Split, split_recipe

BASE_NAMES = ("base", "rest", "whole")
"""What the picture as a whole is called, where it was read too."""


@dataclass(frozen=True)
class Read:
    """What a test sheet says: its areas, and the picture as a whole if that was read."""

    areas: tuple[Area, ...]
    base: Area | None


def read(plan: Plan, places: list[tuple[str, Fraction]]) -> Read:
    """``places`` (area, place) on the strip of ``plan``. ValueError off the strip, or for patches that test no times."""
    if plan.tests_filters:
        raise ValueError("its patches were made through different filters; read the pack first, and times from a strip")
    steps = [(Fraction(p.stops).limit_denominator(5040), p.seconds) for p in plan.patches]
    found = read_areas(steps, places)
    whole = [area for area in found if area.area in BASE_NAMES]
    if len(whole) > 1:
        raise ValueError(f"{whole[0].area} and {whole[1].area} both mean the picture as a whole; give one of them")
    return Read(tuple(area for area in found if area not in whole), whole[0] if whole else None)


def printed(way: Way, recipe: Recipe, split: Split | None, source: str) -> Recipe:
    """``recipe`` printed the ``way`` that was read from ``source``; of a strip over a first exposure, ``split``, the way's
    base is the second one. LamphouseError when it could not be made."""
    if not split:
        return recipe_from(way, recipe, source)
    begun = msgspec.structs.replace(recipe, base_s=round(split.first_s, 3), filters=split.first)
    return second_from(way, begun, split.second, source)


def recipe_from(way: Way, recipe: Recipe, source: str) -> Recipe:
    """``recipe`` printed the ``way`` that was read from ``source``: its base, and the areas that were read as dodges and
    burns. What is known of an area (tool, motion, outline) stays, and so do areas that were not read.

    LamphouseError when it could not be made.
    """
    known: dict[str, Dodge | Burn] = {b.area: b for b in recipe.burn}
    known |= {d.area: d for d in recipe.dodge}
    named = {local.area for local in (*way.dodges, *way.burns)} | set(way.as_base)
    dodges = [like(known.get(d.area), Dodge(d.area, d.stops)) for d in way.dodges]
    burns = [like(known.get(b.area), Burn(b.area, b.stops)) for b in way.burns]
    left = [
        msgspec.structs.replace(d, together="") if d.together in named else d for d in recipe.dodge if d.area not in named
    ]
    dodge = (*dodges, *left)
    burn = (*burns, *(b for b in recipe.burn if b.area not in named))
    says = (f"read from {source}: base {digits(way.base_s)} s", *map(amount, dodges), *map(amount, burns))
    changed = msgspec.structs.replace(
        recipe,
        base_s=round(way.base_s, 3),
        dodge=dodge,
        burn=burn,
        order=tuple(area for area in recipe.order if area in {*(d.area for d in dodge), *(b.area for b in burn)}),
        derived=Derived(recipe.title, says=says),
    )
    return parse_recipe(recipe_toml(changed), "the recipe that was read")


def second_from(way: Way, recipe: Recipe, second: Filters, source: str) -> Recipe:
    """As ``recipe_from``, of a strip of the second exposure of a split-grade print: the way's base is its time. An area
    that needs more there is burnt in through ``second``, one that needs less is held back during it."""
    dodges = tuple(Dodge(d.area, d.stops) for d in way.dodges)
    burns = tuple(Burn(b.area, seconds=round(b.seconds, 3), filters=second) for b in way.burns)
    named = {burn.area for burn in burns}
    split = split_recipe(recipe, recipe.filters, recipe.base_s, second, way.base_s)
    says = (
        f"read from {source}: {digits(way.base_s)} s through {filters_text(second)} over {digits(recipe.base_s)} s "
        f"through {filters_text(recipe.filters)}",
        *(f"burn {burn.area} {digits(burn.seconds or 0)} s through {filters_text(second)}" for burn in burns),
        *(f"{amount(dodge)} through {filters_text(second)}" for dodge in dodges),
    )
    kept = tuple(
        msgspec.structs.replace(burn, dodge=dodges) if burn.area == WHOLE else burn
        for burn in split.burn
        if burn.area not in named
    )
    changed = msgspec.structs.replace(split, burn=(*kept, *burns), derived=Derived(recipe.title, says=says))
    return parse_recipe(recipe_toml(changed), "the recipe that was read")


def amount(item: Dodge | Burn) -> str:
    """``burn window +1/2``, ``dodge wall -1/3``."""
    if isinstance(item, Dodge):
        return f"dodge {item.area} {format_stops(-abs(item.stops))}"
    return f"burn {item.area} {format_stops(item.stops or Fraction(0), signed=True)}"
