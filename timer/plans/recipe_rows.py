"""A recipe as rows, and what each says; ``recipe_edits`` changes them one by one.

A recipe on the way may be one that cannot be made yet (no name, a dodge too long): ``fault`` says so, ``checked`` refuses.
Dodges and burns stand in the order in which they are done, so that to move a row is to change the order.
"""

import re
from dataclasses import dataclass
from typing import Literal, get_args, get_type_hints

from msgspec.structs import replace

from timer.craft.dodge_burn import dodge_seconds
from timer.craft.stops import digits, format_stops
from timer.documents.recipe import Dodge, Enlargement, Paper, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import burn_light, edge_light, filters_text, in_order, printed_base
from timer.errors import LamphouseError, Refused

Kind = Literal[
    "title", "paper", "sheet", "filters", "base", "dodge", "burn", "edges", "flash", "dry-down", "picture", "notes"
]
Field = Literal["name", "amount", "tool", "motion", "filters"]

PAPER_KINDS: tuple[str, ...] = get_args(get_type_hints(Paper)["kind"])
BASE_S = 10.0


@dataclass(frozen=True)
class Row:
    """One row: ``at`` is its place among the dodges or burns; ``amount`` and ``seconds`` in words, ``how`` the rest.

    ``within``: of a dodge that is made in a second exposure, the place of that burn; None in the base.
    """

    kind: Kind
    at: int = 0
    name: str = ""
    amount: str = ""
    seconds: str = ""
    how: str = ""
    within: int | None = None

    @property
    def word(self) -> str:
        """Its kind as a table has it: what is held back in a second exposure stands in, below that."""
        return self.kind if self.within is None else f"  {self.kind}"


def empty(paper: str, base_s: float = BASE_S) -> Recipe:
    """A straight print on ``paper`` that has no name yet."""
    return Recipe(recipe=1, title="", base_s=kept(base_s), paper=Paper(paper))  # type: ignore[arg-type]


def opened(recipe: Recipe) -> Recipe:
    """``recipe`` with its areas in the order in which they are done, which then needs no list of its own."""
    return replace(recipe, dodge=tuple(in_order(recipe, recipe.dodge)), burn=tuple(in_order(recipe, recipe.burn)), order=())


def rows(recipe: Recipe) -> list[Row]:
    """The rows of ``recipe``; edges and flash have theirs even where there are none, to be given some."""
    base = printed_base(recipe)
    place, filters = recipe.enlargement, filters_text(recipe.filters)
    lens = f"f/{place.aperture:g}" if place.aperture else ""
    out = [
        Row("title", name=recipe.title),
        Row("paper", name=" ".join(part for part in (recipe.paper.kind, recipe.paper.name) if part)),
        Row("sheet", name="  ".join(part for part in (place.frame, place.sheet, lens, *measured(place)) if part)),
        Row("filters", name=filters or "none"),
        Row("base", amount="", seconds=_s(base)),
    ]
    out += _dodge_rows(recipe.dodge, base)
    for n, b in enumerate(recipe.burn):
        own = (filters_text(b.filters) or "no filter") if b.filters is not None else ""
        amount = format_stops(b.stops, signed=True) if b.stops is not None else ""
        light = burn_light(recipe, b)
        out.append(Row("burn", n, b.area, amount, _s(light), _how(own, b.tool, b.motion)))
        out += _dodge_rows(b.dodge, light, n)
    edges, flash = recipe.edges, recipe.flash
    if edges:
        each = f"{len(edges.which)} x {_s(edge_light(recipe))}"
        which = "" if len(edges.which) == 4 else ", ".join(edges.which)
        out.append(Row("edges", 0, which, format_stops(edges.stops, signed=True), each, _how(edges.tool)))
    else:
        out.append(Row("edges", name="none"))
    out.append(Row("flash", 0, flash.when, "", _s(flash.seconds), flash.source) if flash else Row("flash", name="none"))
    dry = f"{recipe.dry_down_percent:g} %" if recipe.dry_down_percent else "none"
    out += [Row("dry-down", name=dry)] if recipe.paper.kind != "ra4" or recipe.dry_down_percent else []
    notes = " ".join(recipe.notes.split())
    return [*out, Row("picture", name=recipe.picture or "none"), Row("notes", name=notes or "none")]


def measured(place: Enlargement) -> list[str]:
    """What else is known of how the enlarger stands, in the words that the sheet's row is typed in: ``lens50mm``,
    ``border5mm``, ``fill``, ``detail10:80mm`` (on the negative, on the print), ``distance450mm`` (lens to paper)."""
    return [
        *([f"lens{place.lens_mm:g}mm"] if place.lens_mm else []),
        *([f"border{place.border_mm:g}mm"] if place.border_mm else []),
        *(["fill"] if place.fill else []),
        *(_detail(place)),
        *([f"distance{place.lens_to_paper_mm:g}mm"] if place.lens_to_paper_mm else []),
    ]


def _detail(place: Enlargement) -> list[str]:
    """A detail of which only one size is known has a question mark for the other."""
    if not place.detail_negative_mm and not place.detail_print_mm:
        return []
    sizes = [f"{mm:g}" if mm else "?" for mm in (place.detail_negative_mm, place.detail_print_mm)]
    return [f"detail{':'.join(sizes)}mm"]


def _dodge_rows(dodges: tuple[Dodge, ...], light: float, within: int | None = None) -> list[Row]:
    """What is held back in one exposure of ``light`` full-light seconds."""
    out = []
    for n, d in enumerate(dodges):
        overlap = f"with {d.together}" if d.together else ""
        size = abs(d.stops)
        how = _how(d.tool, d.motion, overlap)
        out.append(Row("dodge", n, d.area, format_stops(-size), _s(dodge_seconds(light, size)), how, within))
    return out


def fault(recipe: Recipe) -> str:
    """Why ``recipe`` cannot be made as it is, in one sentence; nothing when it can."""
    try:
        checked(recipe)
    except LamphouseError as error:
        return str(error)
    return ""


def checked(recipe: Recipe) -> Recipe:
    """``recipe`` as it is read from what is written of it. LamphouseError in one sentence when it cannot be made."""
    if not recipe.title:
        raise Refused("the print has no name yet: type one, the negative's for example")
    try:
        return parse_recipe(recipe_toml(recipe), "not yet")
    except LamphouseError as error:
        place, says = _in_rows(recipe, str(error))
        raise LamphouseError(f"not yet: {place}: {says}" if place else f"not yet: {says}") from None


def row_fault(recipe: Recipe, row: Row) -> str:
    """What is wrong with ``row`` of ``recipe`` alone, whatever the others are; nothing when it can stand."""
    try:
        parse_recipe(recipe_toml(recipe if recipe.title else replace(recipe, title="-")), "not yet")
    except LamphouseError as error:
        its_own = row.kind if row.kind not in ("dodge", "burn") else f"{row.kind} {row.name}"
        place, says = _in_rows(recipe, str(error))
        if place.partition(",")[0] == its_own or (row.kind == "sheet" and place in ("negative", "aperture")):
            return f"{place}: {says}"
    return ""


_ROWS = {
    "base_s": "base",
    "title": "title",
    "paper": "paper",
    "filters": "filters",
    "edges": "edges",
    "flash": "flash",
    "dry_down_percent": "dry-down",
    "picture": "picture",
    "notes": "notes",
    "enlargement.sheet": "sheet",
    "enlargement.frame": "negative",
    "enlargement.aperture": "aperture",
    "enlargement": "sheet",
}
"""Keys of the recipe, and the rows that they are on the page."""
_AREA = re.compile(r"(dodge|burn) (\d+)(?:, (\w+).*)?")


def _in_rows(recipe: Recipe, fault: str) -> tuple[str, str]:
    """A fault of the recipe's file in the words of its rows: which row, and what is wrong there."""
    path, _, says = fault.removeprefix("not yet: ").partition(": ")
    for machine, plain in _PLAIN:
        says = machine.sub(plain, says)
    area = _AREA.fullmatch(path)
    if area:
        there = getattr(recipe, area[1])[int(area[2]) - 1]
        what = f", {area[3]}" if area[3] in ("filters", "dodge") else ""
        return f"{area[1]} {there.area}{what}", says
    return next((row for key, row in _ROWS.items() if path == key or path.startswith(f"{key}.")), path), says


_PLAIN = (
    (re.compile(r"^must be a number, "), "must be "),
    (re.compile(r"^must be 3600 at most"), "must be 3600 s at most"),
    (re.compile(r"^must be text in quotes of 1 or more letters"), "needs a name"),
    (re.compile(r"\b(?:ra4|pan) paper takes c, m and y"), "this paper takes a pack, like 60M 45Y"),
    (re.compile(r"^the dodge of (.+) is "), r"that of \1 is "),
)
"""How the file's reader says it, and how a page does."""


def kept(seconds: float) -> float:
    """To a hundredth of a second, or of a very short time to three digits."""
    return round(seconds, 2) if seconds >= 1 else float(f"{seconds:.3g}")


def _s(seconds: float) -> str:
    return f"{digits(seconds)} s"


def _how(*parts: str) -> str:
    return ", ".join(part for part in parts if part)
