"""A print taken to another size, aperture, paper or filter pack: the whole recipe, derived, with a sentence a factor.

Dodges and burns in stops need nothing; the base and burns in seconds are multiplied. A flash belongs to the paper's
threshold and to its own set-up: it follows the paper's speed and nothing else. What comes out is written and read again
before it is given back, so a derived recipe is always one that can be made.
"""

from fractions import Fraction

import msgspec

from timer.craft import enlargement, heads
from timer.craft.stops import digits, format_stops, stops_between, stops_text, told_apart
from timer.craft.stops import factor as stops_factor
from timer.documents.recipe import AreaChange, Derived, Filters, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import setting_of
from timer.errors import LamphouseError, Refused
from timer.plans.advice import advise
from timer.plans.magnification import kept, placed_anew, size_change
from timer.plans.other_paper import burn_change, filters_change, flash_change, in_seconds, named_paper, paper_change
from timer.plans.recipe_change import SAME, DerivedRecipe, RecipeChange, times


def derive(recipe: Recipe, target: RecipeChange, *, file: str = "", sha256: str = "") -> DerivedRecipe:
    """Derive ``recipe`` for ``target``. Refused in one sentence when something needed is not known, or when what comes
    out could not be made."""
    try:
        return _derive(recipe, target, file, sha256)
    except ValueError as error:
        raise Refused(str(error)) from None


def _derive(recipe: Recipe, target: RecipeChange, file: str, sha256: str) -> DerivedRecipe:
    says: list[str] = []
    old_m, new_m, size = size_change(recipe.enlargement, target, says)
    placed = placed_anew(recipe.enlargement, target, old_m, new_m)
    aperture = _aperture(recipe.enlargement.aperture, target.aperture, says)
    speed, grade, paper_speed = paper_change(recipe, target, says)
    box = target.box.time if target.box else 1.0
    if target.box:
        says.append(f"box {target.box.name}: time {times(box)} as measured, its pack change included")
    filters, change = filters_change(recipe, target, says)
    density = stops_factor(target.stops)
    if target.stops:
        how = "darker" if target.stops > 0 else "lighter"
        says.append(f"print {how} by {format_stops(abs(target.stops))} stop: {times(density)}")
    light = size * aperture * speed * box * density
    factor = light * grade * change
    base = recipe.base_s * factor
    changed = msgspec.structs.replace(
        recipe,
        base_s=kept(base),
        enlargement=placed,
        filters=in_seconds(filters, base),
        paper=msgspec.structs.replace(named_paper(recipe.paper, target.paper), speed=paper_speed),
        burn=tuple(burn_change(recipe, burn, target, light, says) for burn in recipe.burn),
        flash=flash_change(recipe, speed * box, says),
    )
    same = abs(factor - 1) < SAME
    stops = stops_text(stops_between(1, factor))
    changed_to = f"base {recipe.base_s:g} s {times(factor)} = {digits(base)} s ({stops} stop)"
    says.append(f"base stays at {recipe.base_s:g} s" if same else changed_to)
    last = _last_change(recipe, target, filters)
    derived = Derived(recipe.title, file, sha256, float(f"{factor:.6g}"), tuple(says), *last)
    changed = _read_again(msgspec.structs.replace(changed, derived=derived))
    focal = placed.lens_mm
    to_paper = enlargement.lens_to_paper(focal, new_m) if focal and new_m else placed.lens_to_paper_mm
    whole = enlargement.negative_to_paper(focal, new_m) if focal and new_m else None
    advice = advise(recipe, changed, target, whole, size * aperture)
    factors = (size, aperture, speed * box, grade * change, density)
    return DerivedRecipe(changed, *factors, (old_m, new_m), to_paper, whole, tuple(says), tuple(advice), _strip(changed))


def _strip(recipe: Recipe) -> str:
    """The strip that confirms the base of ``recipe``, as a command: on its kind of paper, the colours of three lights in
    turn."""
    strip = f"lamphouse strip --around {digits(recipe.base_s)} --step 1/6 --patches 3"
    in_turn = recipe.filters.head == "tricolour"
    if recipe.paper.kind != "bw" or in_turn:
        strip += f" --paper {recipe.paper.kind}"
    return strip + (f" --pack '{setting_of(recipe.filters)}' --head tricolour" if in_turn else "")


def _read_again(recipe: Recipe) -> Recipe:
    """``recipe`` as it is read from what is written of it. ValueError with a sentence when it could not be read."""
    if recipe.base_s > 3600:
        raise ValueError(
            f"the base would be {told_apart(recipe.base_s, 3600)} s, and a recipe holds 3600 s at most: open the lens, or "
            "print smaller"
        )
    try:
        return parse_recipe(recipe_toml(recipe), "the new recipe")
    except LamphouseError as error:
        raise ValueError(f"this cannot be made: {error}") from None


def _aperture(old: float | None, new: float | None, says: list[str]) -> float:
    if new is None or new == old:
        return 1.0
    if old is None:
        raise ValueError("the recipe does not say its aperture; add aperture = 8 (what it was) to [enlargement]")
    factor = enlargement.aperture_factor(old, new)
    says.append(f"f/{old:g} to f/{new:g}: {stops_text(stops_between(1, factor))} stop by the marks, {times(factor)}")
    return factor


def _last_change(
    old: Recipe, target: RecipeChange, new: Filters
) -> tuple[Fraction | None, tuple[float, float, float] | None, tuple[AreaChange, ...]]:
    """The corrections that this one and those before it asked for, the last of density and the last of colour; the next
    correction of the same print has to know its direction. Another print (size, paper) begins anew."""
    corrects = RecipeChange(stops=target.stops, pack=target.pack, correct=target.correct, head=target.head, top=target.top)
    before = old.derived if old.derived and corrects == target else None
    areas = before.areas if before else ()
    stops = target.stops or (before.stops if before else None)
    change = target.correct
    if target.pack is not None:
        change = heads.pack(setting_of(new)) - heads.pack(setting_of(old.filters))
    if change is None:
        return stops, before.change if before else None, areas
    grey = min(change.c, change.m, change.y, key=abs)  # what all three have is density, no colour
    c, m, y = (max(-500.0, min(500.0, round(part - grey, 3))) for part in (change.c, change.m, change.y))
    return stops, (c, m, y), areas
