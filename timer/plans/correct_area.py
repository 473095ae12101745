"""One area of a print corrected by what was seen on it: "window +1/3" is a third of a stop darker there.

Stops add up, so a burn of 1/3 that needs 1/3 more is one of 2/3, and a dodge of 1/4 that needs 1/3 more is a burn of 1/12.
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import msgspec

from timer.craft.dodge_burn import dodge_seconds
from timer.craft.read_strip import next_step
from timer.craft.stops import digits, factor, format_stops, parse_stops
from timer.documents.recipe import AreaChange, Burn, Derived, Dodge, Edges, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import burn_light, edge_light, printed_base
from timer.errors import LamphouseError
from timer.plans.derive import derive
from timer.plans.recipe_change import RecipeChange

Kind = Literal["base", "dodge", "burn", "edges", "nothing"]
PRINT = ("print", "base")
"""What the whole print is called here."""
_SAID = re.compile(r"\s*(.+?)\s+([+\-−].*)", re.DOTALL)


@dataclass(frozen=True)
class Amount:
    """What an area has: ``stops`` (of a dodge below 0; None where it is in seconds, through a filter of its own) and
    full-light ``seconds``, those of a dodge held back."""

    kind: Kind
    stops: Fraction | None
    seconds: float

    def __str__(self) -> str:
        if self.kind == "nothing":
            return "as the base"
        size = f" {format_stops(self.stops, signed=True)}" if self.stops is not None else ""
        return f"{self.kind}{size}, {digits(self.seconds)} s"


@dataclass(frozen=True)
class Correction:
    """``asked`` and ``given`` stops on ``area``; ``given`` is half of the ``last`` change back when the direction turned."""

    area: str
    asked: Fraction
    given: Fraction
    last: Fraction | None
    old: Amount
    new: Amount

    def __str__(self) -> str:
        turned = (
            f" (asked {format_stops(self.asked, signed=True)}; the direction has turned, so half of the last change back)"
            if self.given != self.asked
            else ""
        )
        return f"{self.area} {format_stops(self.given, signed=True)}{turned}: {self.old} -> {self.new}"


@dataclass(frozen=True)
class Corrected:
    """The recipe with its corrections, and each of them for the printer to read."""

    recipe: Recipe
    corrections: tuple[Correction, ...]


def parse_correction(text: str) -> tuple[str, Fraction]:
    """``window +1/3``: the area, and stops with their sign. ValueError for anything else."""
    said = _SAID.fullmatch(text)
    try:
        stops = parse_stops(said[2]) if said else Fraction(0)
    except ValueError as error:
        raise ValueError(f"{text!r}: {error}") from None
    if not said or not stops:
        raise ValueError(
            f"{text!r} is not a correction; write the area, a sign and stops, like 'window +1/3' or 'print -1/12'"
        )
    return said[1], stops


def correct(
    recipe: Recipe, asked: list[tuple[str, Fraction]], *, file: str = "", sha256: str = "", exact: bool = False
) -> Corrected:
    """``recipe`` with each area of ``asked`` so many stops darker (lighter below 0), as a derived recipe.

    The last change of every area is remembered in it; when the direction of one turns, half of its last change is taken
    back instead (``exact``: as asked). LamphouseError when what comes out could not be made.
    """
    last = {row.area: row.stops for row in recipe.derived.areas} if recipe.derived else {}
    if recipe.derived and recipe.derived.stops is not None:
        last |= dict.fromkeys(PRINT, recipe.derived.stops)
    names = [area for area, _ in asked]
    if len(set(names)) < len(names):
        raise LamphouseError("an area is corrected twice; give each area once")
    made, done = recipe, []
    for area, stops in asked:
        given = stops if exact or area not in last else next_step(stops, last[area])
        old = amount_of(made, area)
        made = _whole(made, given) if area in PRINT else _changed(made, area, given)
        done.append(Correction(area, stops, given, last.get(area), old, amount_of(made, area)))
    kept = last | {c.area: c.given for c in done}
    whole = next((c.given for c in done if c.area in PRINT), recipe.derived.stops if recipe.derived else None)
    derived = Derived(
        recipe.title,
        file,
        sha256,
        float(f"{made.base_s / recipe.base_s:.6g}"),
        tuple(str(correction) for correction in done)[:64],
        whole,
        recipe.derived.change if recipe.derived else None,
        tuple(AreaChange(area, stops) for area, stops in kept.items() if area not in PRINT)[:64],
    )
    made = msgspec.structs.replace(made, derived=derived)
    return Corrected(parse_recipe(recipe_toml(made), "the corrected recipe"), tuple(done))


def areas_of(recipe: Recipe) -> tuple[str, ...]:
    """What can be corrected by itself: every area held back or burnt in, each once, and the edges where they are burnt."""
    names = [*(d.area for d in recipe.dodge), *(b.area for b in recipe.burn), *(["edges"] if recipe.edges else [])]
    return tuple(name for name in dict.fromkeys(names) if name not in PRINT)


def amount_of(recipe: Recipe, area: str) -> Amount:
    """What ``area`` of ``recipe`` has now."""
    if area in PRINT:
        return Amount("base", None, printed_base(recipe))
    if area == "edges":
        edges = recipe.edges
        return Amount("edges", edges.stops, edge_light(recipe)) if edges else Amount("nothing", Fraction(0), 0.0)
    for burn in recipe.burn:
        if burn.area == area:
            return Amount("burn", burn.stops, burn_light(recipe, burn))
    for dodge in recipe.dodge:
        if dodge.area == area:
            return Amount("dodge", -abs(dodge.stops), dodge_seconds(printed_base(recipe), abs(dodge.stops)))
    return Amount("nothing", Fraction(0), 0.0)


def _whole(recipe: Recipe, stops: Fraction) -> Recipe:
    return derive(recipe, RecipeChange(stops=stops)).recipe


def _changed(recipe: Recipe, area: str, stops: Fraction) -> Recipe:
    now = amount_of(recipe, area)
    if now.stops is None:
        burns = tuple(
            msgspec.structs.replace(b, seconds=round((b.seconds or 0) * factor(stops), 3)) if b.area == area else b
            for b in recipe.burn
        )
        return msgspec.structs.replace(recipe, burn=burns)
    new = now.stops + stops
    if area == "edges":
        if new < 0:
            raise LamphouseError(
                f"edges {format_stops(stops)}: their burn is {format_stops(now.stops)}; no more can be taken away"
            )
        edges = msgspec.structs.replace(recipe.edges, stops=new) if recipe.edges else Edges(new)
        return msgspec.structs.replace(recipe, edges=edges if new else None)
    return _local(recipe, area, new)


def _local(recipe: Recipe, area: str, stops: Fraction) -> Recipe:
    """``recipe`` with ``area`` burnt in, held back, or left as the base; its tool, motion, outline and place stay."""
    dodge, burn = list(recipe.dodge), list(recipe.burn)
    at_dodge = next((n for n, d in enumerate(dodge) if d.area == area), None)
    at_burn = next((n for n, b in enumerate(burn) if b.area == area), None)
    known: Dodge | Burn | None = None
    if at_burn is not None:  # an area that is burnt in and held back is corrected in its burn
        known = burn.pop(at_burn)
    elif at_dodge is not None:
        known = dodge.pop(at_dodge)
    if known and stops > 0:
        new = Burn(area, stops, tool=known.tool, motion=known.motion, outline=known.outline)
        burn.insert(len(burn) if at_burn is None else at_burn, new)
    elif stops > 0:
        burn.append(Burn(area, stops))
    elif stops < 0:
        together = known.together if isinstance(known, Dodge) else ""
        fresh = Dodge(area, stops, together)
        if known:
            fresh = msgspec.structs.replace(fresh, tool=known.tool, motion=known.motion, outline=known.outline)
        if at_burn is not None and at_dodge is not None:
            raise LamphouseError(
                f"{area} is held back already, and would be held back further; change its dodge in the recipe"
            )
        dodge.insert(len(dodge) if at_dodge is None else at_dodge, fresh)
    names = {d.area for d in dodge}
    dodges = tuple(msgspec.structs.replace(d, together=d.together if d.together in names else "") for d in dodge)
    left = names | {b.area for b in burn}
    order = tuple(name for name in recipe.order if name in left)
    return msgspec.structs.replace(recipe, dodge=dodges, burn=tuple(burn), order=order)
