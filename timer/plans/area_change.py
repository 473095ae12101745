"""One area of a recipe given more light or less: in the base, and in the second exposure of a split-grade print.

Of an area that is only held back, or only burnt in, stops add up. Of one that is both, its light is counted: the part of
the base that it has, and its burn; the dodge stays, and the burn makes up the difference, to a hundredth of a stop.
"""

from fractions import Fraction

from msgspec.structs import replace

from timer.craft.stops import digits, factor, format_stops, hundredths, stops_between
from timer.documents.recipe import Burn, Dodge, Local, Recipe
from timer.documents.recipe_light import burn_light, filters_text
from timer.errors import LamphouseError
from timer.plans.magnification import kept
from timer.plans.split_grade import split_of

SMALLEST = Fraction(1, 100)
"""Stops below which a counted burn is none."""
LEAST = factor(SMALLEST) - 1


def in_base(recipe: Recipe, area: str, stops: Fraction) -> Recipe:
    """``recipe`` with ``stops`` more of the base's light on ``area``, less below 0; tool, motion, outline, place stay.

    LamphouseError where it is held back and burnt in, and would need less than the dodge leaves.
    """
    dodge = next((d for d in recipe.dodge if d.area == area), None)
    names = (area, named(area, filters_text(recipe.filters)))
    burn = next((b for b in recipe.burn if b.area in names and b.stops is not None), None)
    if dodge and burn:
        left = factor(-abs(dodge.stops))
        more = (left + factor(burn.stops or 0) - 1) * factor(stops) - left
        new = hundredths(stops_between(1, 1 + more)) if more > 0 else Fraction(0)
        if new < SMALLEST:
            raise LamphouseError(
                f"{area} is held back already, and would be held back further; change its dodge in the recipe"
            )
        burns = tuple(replace(b, stops=new) if b is burn else b for b in recipe.burn)
        return replace(recipe, burn=burns)
    now = (burn.stops or Fraction(0)) if burn else -abs(dodge.stops) if dodge else Fraction(0)
    return _set(recipe, area, now + stops, dodge, burn)


def _set(recipe: Recipe, area: str, stops: Fraction, dodge: Dodge | None, burn: Burn | None) -> Recipe:
    """``area``, which is ``dodge`` or ``burn`` or neither now, burnt in, held back, or as the base."""
    dodges, burns = list(recipe.dodge), list(recipe.burn)
    at_burn = burns.index(burn) if burn else len(burns)
    at_dodge = dodges.index(dodge) if dodge else len(dodges)
    burns = [b for b in burns if b is not burn]
    dodges = [d for d in dodges if d is not dodge]
    if stops > 0:
        taken = {b.area for b in burns}
        name = burn.area if burn else area if area not in taken else named(area, filters_text(recipe.filters))
        burns.insert(at_burn, like(burn or dodge, Burn(name, stops)))
    elif stops < 0:
        dodges.insert(at_dodge, like(burn or dodge, Dodge(area, stops, dodge.together if dodge else "")))
    names = {d.area for d in dodges}
    together = tuple(replace(d, together=d.together if d.together in names else "") for d in dodges)
    left = names | {b.area for b in burns}
    return replace(recipe, dodge=together, burn=tuple(burns), order=tuple(n for n in recipe.order if n in left))


def in_second(recipe: Recipe, area: str, stops: Fraction) -> Recipe:
    """The same for the second exposure of a split-grade print; as it is where there is none.

    More than that exposure gives is a burn in seconds through its filter. LamphouseError as ``in_base``.
    """
    whole = split_of(recipe)
    if whole is None or whole.seconds is None or whole.filters is None:
        return recipe
    through = filters_text(whole.filters)
    dodge, burn = _in_second(recipe, whole, area)
    held = -abs(dodge.stops) if dodge else Fraction(0)
    extra = (burn.seconds or 0.0) if burn else 0.0
    left = factor(held)
    more = (left + extra / whole.seconds) * factor(stops) - left if burn else 0.0
    if dodge and burn:
        new = held
        if more < -LEAST:
            raise LamphouseError(
                f"{area} is held back through {through}, and would be held back further; change its dodge in the recipe"
            )
    elif burn:
        new = hundredths(stops_between(1, 1 + more))
    else:
        new = held + stops
        more = factor(new) - 1
    seconds = more * whole.seconds if more >= LEAST else 0.0
    name = burn.area if burn else named(area, through) if any(b.area == area for b in recipe.burn) else area
    made = like(burn or dodge, Burn(name, seconds=kept(seconds), filters=whole.filters))
    holds = [d for d in whole.dodge if d is not dodge]
    if new < 0:
        fresh = Dodge(area, new) if dodge is None else replace(dodge, stops=new)
        holds.insert(whole.dodge.index(dodge) if dodge else len(holds), fresh)
    burns: list[Burn] = []
    for each in recipe.burn:  # one through its filter stands with that exposure: no change of filter more
        if each is not burn:
            burns.append(replace(each, dodge=tuple(holds)) if each is whole else each)
        if seconds and each is (burn or whole):
            burns.append(made)
    left_names = {d.area for d in recipe.dodge} | {b.area for b in burns}
    order = tuple(name for name in recipe.order if name in left_names)
    return replace(recipe, burn=tuple(burns), order=order)


def of_second(recipe: Recipe, area: str) -> str:
    """What the second exposure of a split-grade print does for ``area``: ``dodge -1/3``, ``burn 1.26 s``, dried down."""
    whole = split_of(recipe)
    dodge, burn = _in_second(recipe, whole, area) if whole else (None, None)
    parts = [f"dodge {format_stops(-abs(dodge.stops))}"] if dodge else []
    parts += [f"burn {digits(burn_light(recipe, burn))} s"] if burn else []
    return " and ".join(parts) or "as that exposure"


def _in_second(recipe: Recipe, whole: Burn, area: str) -> tuple[Dodge | None, Burn | None]:
    """The dodge in the second exposure ``whole``, and the burn through its filter, that are made for ``area``."""
    names = (area, named(area, filters_text(whole.filters) if whole.filters else ""))
    dodge = next((d for d in whole.dodge if d.area == area), None)
    return dodge, next((b for b in recipe.burn if b.area in names and b.filters == whole.filters), None)


def like(known: Dodge | Burn | None, item: Local) -> Local:
    """``item`` with the tool, motion and outline that are ``known`` of its area."""
    return replace(item, tool=known.tool, motion=known.motion, outline=known.outline) if known else item


def named(area: str, through: str) -> str:
    """What a burn of ``area`` is called beside another one of it, through another filter."""
    return f"{area}, {through or 'no filter'}"
