"""One area of a print corrected by what was seen on it: "window +1/3" is a third of a stop darker there.

Stops add up, so a burn of 1/3 that needs 1/3 more is one of 2/3, and a dodge of 1/4 that needs 1/3 more is a burn of 1/12.
Of a split-grade print both exposures change by as much, so that the area's contrast stays.
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import msgspec

from timer.craft.dodge_burn import dodge_seconds
from timer.craft.read_strip import next_step
from timer.craft.stops import digits, factor, format_stops, parse_stops
from timer.documents.recipe import AreaChange, Burn, Derived, Edges, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import burn_light, edge_light, filters_text, printed_base
from timer.errors import LamphouseError
from timer.plans.area_change import in_base, in_second, named, of_second
from timer.plans.derive import derive
from timer.plans.magnification import kept
from timer.plans.other_paper import in_seconds
from timer.plans.recipe_change import RecipeChange
from timer.plans.split_grade import split_of

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
    """``asked`` and ``given`` stops on ``area``; ``given`` is half of the ``last`` change back when the direction turned.

    ``second``: what becomes of the second exposure of a split-grade print, in words.
    """

    area: str
    asked: Fraction
    given: Fraction
    last: Fraction | None
    old: Amount
    new: Amount
    second: str = ""

    def __str__(self) -> str:
        turned = (
            f" (asked {format_stops(self.asked, signed=True)}; the direction has turned, so half of the last change back)"
            if self.given != self.asked
            else ""
        )
        alone = " of that burn alone" if self.old.kind == "burn" and self.old.stops is None else ""
        second = f"; {self.second}" if self.second else ""
        return f"{self.area} {format_stops(self.given, signed=True)}{alone}{turned}: {self.old} -> {self.new}{second}"


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

    The last change of every area is remembered in it; when the direction of one turns, no more than half of its last
    change is taken back (``exact``: as asked). LamphouseError when what comes out could not be made.
    """
    last = last_changes(recipe)
    names = [area for area, _ in asked]
    if len(set(names)) < len(names):
        raise LamphouseError("an area is corrected twice; give each area once")
    given: dict[str, Fraction] = {}
    made = recipe
    for area, stops in sorted(asked, key=lambda said: said[0] not in PRINT):  # of the print first: it moves every other time
        half = next_step(stops, last[area]) if area in last else stops
        given[area] = stops if exact or abs(stops) < abs(half) else half
        made = _whole(made, given[area]) if area in PRINT else _changed(made, area, given[area])
    done = [
        Correction(
            area,
            stops,
            given[area],
            last.get(area),
            amount_of(recipe, area),
            amount_of(made, area),
            _second(recipe, made, area),
        )
        for area, stops in asked
    ]
    changes = last | {c.area: c.given for c in done}
    whole = next((c.given for c in done if c.area in PRINT), recipe.derived.stops if recipe.derived else None)
    derived = Derived(
        recipe.title,
        file,
        sha256,
        float(f"{made.base_s / recipe.base_s:.6g}"),
        tuple(str(correction) for correction in done)[:64],
        whole,
        recipe.derived.change if recipe.derived else None,
        tuple(AreaChange(area, stops) for area, stops in changes.items() if area not in PRINT)[:64],
    )
    made = msgspec.structs.replace(made, derived=derived)
    return Corrected(parse_recipe(recipe_toml(made), "the corrected recipe"), tuple(done))


def last_changes(recipe: Recipe) -> dict[str, Fraction]:
    """The stops by which each area, and the whole print (both of its names), was changed last, where it was."""
    made = recipe.derived
    if made is None:
        return {}
    whole = {} if made.stops is None else dict.fromkeys(PRINT, made.stops)
    return {row.area: row.stops for row in made.areas} | whole


def areas_of(recipe: Recipe) -> tuple[str, ...]:
    """What can be corrected by itself: every area held back or burnt in, each once, and the edges where they are burnt."""
    second = split_of(recipe)
    held = [*(d.area for d in recipe.dodge), *((d.area for d in second.dodge) if second else ())]
    burnt = [b.area for b in recipe.burn]
    through = [filters_text(f) for f in (recipe.filters, *(b.filters for b in recipe.burn)) if f is not None]
    beside = {named(area, filters) for area in (*held, *burnt) for filters in through}
    names = [*held, *(area for area in burnt if area not in beside), *(["edges"] if recipe.edges else [])]
    return tuple(name for name in dict.fromkeys(names) if name not in PRINT)


def amount_of(recipe: Recipe, area: str) -> Amount:
    """What ``area`` of ``recipe`` has now; of a split-grade print in its first exposure, where it has anything there."""
    if area in PRINT:
        return Amount("base", None, printed_base(recipe))
    if area == "edges":
        edges = recipe.edges
        return Amount("edges", edges.stops, edge_light(recipe)) if edges else Amount("nothing", Fraction(0), 0.0)
    burn = next((burn for burn in recipe.burn if burn.area == area), None)
    if burn and not _through_second(recipe, burn):
        return Amount("burn", burn.stops, burn_light(recipe, burn))
    for dodge in recipe.dodge:
        if dodge.area == area:
            return Amount("dodge", -abs(dodge.stops), dodge_seconds(printed_base(recipe), abs(dodge.stops)))
    return Amount("nothing", Fraction(0), 0.0)


def _through_second(recipe: Recipe, burn: Burn) -> bool:
    """Whether ``burn`` is an area's part of the second exposure of a split-grade print."""
    second = split_of(recipe)
    return second is not None and burn is not second and burn.filters == second.filters


def _whole(recipe: Recipe, stops: Fraction) -> Recipe:
    return derive(recipe, RecipeChange(stops=stops)).recipe


def _changed(recipe: Recipe, area: str, stops: Fraction) -> Recipe:
    """``recipe`` with its ``area`` changed, in both exposures of a split-grade print."""
    now = amount_of(recipe, area)
    if now.stops is None:
        burns = tuple(_lengthened(b, factor(stops)) if b.area == area else b for b in recipe.burn)
        return msgspec.structs.replace(recipe, burn=burns)
    if area == "edges":
        new = now.stops + stops
        if new < 0:
            raise LamphouseError(
                f"edges {format_stops(stops)}: their burn is {format_stops(now.stops)}; no more can be taken away"
            )
        edges = msgspec.structs.replace(recipe.edges, stops=new) if recipe.edges else Edges(new)
        return msgspec.structs.replace(recipe, edges=edges if new else None)
    return in_second(in_base(recipe, area, stops), area, stops)


def _lengthened(burn: Burn, by: float) -> Burn:
    seconds = kept((burn.seconds or 0) * by)
    return msgspec.structs.replace(
        burn, seconds=seconds, filters=in_seconds(burn.filters, seconds) if burn.filters else None
    )


def _second(old: Recipe, new: Recipe, area: str) -> str:
    """What became of ``area`` in the second exposure of a split-grade print, in words; nothing of what has no part in it."""
    whole = split_of(old)
    if whole is None or whole.filters is None or area in PRINT or amount_of(old, area).stops is None:
        return ""
    if area == "edges":
        return f"through {filters_text(old.filters) or 'no filter'} alone"
    return f"through {filters_text(whole.filters)}: {of_second(old, area)} -> {of_second(new, area)}"
