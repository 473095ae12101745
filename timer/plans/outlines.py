"""Where a recipe's areas lie on the sheet: their outlines, what a map writes in them, and how an outline is changed."""

from typing import Any, Literal

import msgspec

from timer.craft.enlargement import parse_sheet
from timer.craft.stops import digits, format_stops
from timer.documents.recipe import Edge, Outline, Recipe
from timer.documents.recipe_light import burn_light, filters_text

Form = Literal["ellipse", "edge", "polygon"]
FORMS: tuple[Form, ...] = ("ellipse", "polygon", "edge")
STEP = 0.02
"""Of a side: how far one press of an arrow key moves what it moves."""
USUAL = 5 / 4
"""Proportion of a sheet whose size the recipe does not say: of 8 x 10 in, and of the built-in scene."""
_EDGES: dict[tuple[int, int], Edge] = {(0, -1): "top", (0, 1): "bottom", (-1, 0): "left", (1, 0): "right"}


def proportion(recipe: Recipe | None) -> float:
    """The longer side of the sheet over the shorter."""
    sheet = recipe.enlargement.sheet if recipe else ""
    if not sheet:
        return USUAL
    size = parse_sheet(sheet)
    return size.long / size.short


def areas(recipe: Recipe) -> list[str]:
    """The names of all that is dodged or burnt, each once."""
    held = [dodge.area for burn in recipe.burn for dodge in burn.dodge]
    return list(dict.fromkeys([*(d.area for d in recipe.dodge), *(b.area for b in recipe.burn), *held]))


def outlines(recipe: Recipe | None) -> dict[str, Outline]:
    """Of each area that has one; of one that is both dodged and burnt, the burn's."""
    if recipe is None:
        return {}
    dodged = {d.area: d.outline for d in recipe.dodge if d.outline}
    dodged |= {d.area: d.outline for b in recipe.burn for d in b.dodge if d.outline}
    return dodged | {b.area: b.outline for b in recipe.burn if b.outline}


def labels(recipe: Recipe) -> list[tuple[str, str]]:
    """Each area worked on and how much, as a printing map has it."""
    out = [(d.area, format_stops(-abs(d.stops))) for d in recipe.dodge]
    for b in recipe.burn:
        own = f" {filters_text(b.filters)}" if b.filters else ""
        given = f"+{float(digits(burn_light(recipe, b))):g} s{own}"
        out.append((b.area, given if b.stops is None else format_stops(b.stops, signed=True)))
        out += [(d.area, f"{format_stops(-abs(d.stops))}{own}") for d in b.dodge]
    if recipe.edges:
        out += [(f"{edge} edge", format_stops(recipe.edges.stops, signed=True)) for edge in recipe.edges.which]
    return out


# ── changed ──────────────────────────────────────────────────────────────────


def with_outline(recipe: Recipe, area: str, outline: Outline | None) -> Recipe:
    """``recipe`` with ``area`` there, wherever it is dodged or burnt."""

    def put(item: Any) -> Any:
        return msgspec.structs.replace(item, outline=outline) if item.area == area else item

    burns = tuple(msgspec.structs.replace(put(b), dodge=tuple(map(put, b.dodge))) for b in recipe.burn)
    return msgspec.structs.replace(recipe, dodge=tuple(map(put, recipe.dodge)), burn=burns)


def form_of(outline: Outline) -> Form:
    """Which of the forms it has."""
    return "ellipse" if outline.ellipse else "polygon" if outline.polygon else "edge"


def begun(form: Form, x: float = 0.5, y: float = 0.5) -> Outline:
    """An outline of ``form`` around (``x``, ``y``), to be moved from there."""
    match form:
        case "ellipse":
            return Outline(ellipse=(x, y, 0.12, 0.12))
        case "edge":
            return Outline(edge="top")
        case "polygon":
            corners = ((-0.12, -0.12), (0.12, -0.12), (0.12, 0.12), (-0.12, 0.12))
            return Outline(polygon=tuple((_on(x + dx), _on(y + dy)) for dx, dy in corners))


def middle(outline: Outline) -> tuple[float, float]:
    """Where its name stands."""
    if outline.ellipse:
        return outline.ellipse[0], outline.ellipse[1]
    if outline.polygon:
        points = outline.polygon
        return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)
    deep = outline.depth / 2
    return {"top": (0.5, deep), "bottom": (0.5, 1 - deep), "left": (deep, 0.5), "right": (1 - deep, 0.5)}[
        outline.edge or "top"
    ]


def moved(outline: Outline, dx: int, dy: int, point: int | None = None) -> Outline:
    """So many steps right and down: all of it, or one ``point`` of a polygon. An edge goes to the side that is named."""
    if outline.ellipse:
        x, y, rx, ry = outline.ellipse
        return msgspec.structs.replace(outline, ellipse=(_on(x + dx * STEP), _on(y + dy * STEP), rx, ry))
    if outline.polygon:
        points = tuple(
            (_on(x + dx * STEP), _on(y + dy * STEP)) if point is None or n == point else (x, y)
            for n, (x, y) in enumerate(outline.polygon)
        )
        return msgspec.structs.replace(outline, polygon=points)
    return msgspec.structs.replace(outline, edge=_EDGES.get((dx, dy), outline.edge))


def sized(outline: Outline, dx: int, dy: int) -> Outline:
    """So many steps wider and higher; an edge deeper."""
    if outline.ellipse:
        x, y, rx, ry = outline.ellipse
        return msgspec.structs.replace(outline, ellipse=(x, y, _radius(rx + dx * STEP), _radius(ry + dy * STEP)))
    if outline.polygon:
        mx, my = middle(outline)
        wide, high = 1 + dx * STEP * 4, 1 + dy * STEP * 4
        points = tuple((_on(mx + (x - mx) * wide), _on(my + (y - my) * high)) for x, y in outline.polygon)
        return msgspec.structs.replace(outline, polygon=points)
    return msgspec.structs.replace(outline, depth=min(1.0, max(STEP, round(outline.depth + (dx + dy) * STEP, 3))))


def with_point(outline: Outline, after: int) -> tuple[Outline, int]:
    """A polygon with a point more, half-way to the next, and which one it is; at 64 points as it was."""
    points = outline.polygon or ()
    if not points or len(points) >= 64:
        return outline, after
    (x, y), (to_x, to_y) = points[after], points[(after + 1) % len(points)]
    new = (round((x + to_x) / 2, 3), round((y + to_y) / 2, 3))
    return msgspec.structs.replace(outline, polygon=(*points[: after + 1], new, *points[after + 1 :])), after + 1


def without_point(outline: Outline, point: int) -> tuple[Outline, int]:
    """A polygon with a point less, three at the least."""
    points = outline.polygon or ()
    if len(points) <= 3:
        return outline, point
    left = points[:point] + points[point + 1 :]
    return msgspec.structs.replace(outline, polygon=left), min(point, len(left) - 1)


def _on(place: float) -> float:
    """On the sheet, to a thousandth of its side."""
    return round(min(1.0, max(0.0, place)), 3)


def _radius(size: float) -> float:
    return round(min(1.0, max(STEP, size)), 3)
