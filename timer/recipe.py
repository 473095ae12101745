"""The recipe: how a print is made, as the printer saves it (TOML, ``recipe = 1``).

Amounts of light are in stops, so that a new base moves them all; only the base, a flash and a burn through a
filter of its own are in full-light seconds. ``docs/recipe.md`` explains every key.
"""

import math
from difflib import get_close_matches
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

import msgspec
from msgspec import Meta, Struct

from timer.craft.dodge_burn import Dodge as CraftDodge
from timer.craft.dodge_burn import segments
from timer.craft.enlargement import parse_frame, parse_sheet
from timer.craft.stops import format_stops, parse_stops
from timer.errors import LamphouseError
from timer.files import read_text
from timer.strict import decode_toml

Name = Annotated[str, Meta(min_length=1, max_length=60)]
Text = Annotated[str, Meta(max_length=4000)]
Seconds = Annotated[float, Meta(gt=0, le=3600, description="full-light seconds")]
CC = Annotated[float, Meta(ge=0, le=250, description="CC units, or the head's own dial units")]
Edge = Literal["top", "bottom", "left", "right"]

Local = TypeVar("Local", "Dodge", "Burn")
MOST_AREAS = 64
"""Dodges and burns together: no two hands do more on one sheet."""

GRADES = ("00", "0", "1/2", "1", "1 1/2", "2", "2 1/2", "3", "3 1/2", "4", "4 1/2", "5")


class Paper(Struct, frozen=True, forbid_unknown_fields=True):
    """``kind``: silver (black-and-white, red or amber safelight), ra4 (colour), pan (panchromatic)."""

    kind: Literal["silver", "ra4", "pan"]
    name: Text = ""
    speed: Annotated[float, Meta(gt=0, le=10_000, description="ISO speed P, as on the box")] | None = None
    range: Annotated[float, Meta(ge=20, le=300, description="ISO range R, as on the box")] | None = None


class Enlargement(Struct, frozen=True, forbid_unknown_fields=True):
    """``detail_negative_mm`` and ``detail_print_mm``: one detail measured on both; it wins over frame and sheet."""

    frame: Text = ""
    sheet: Text = ""
    lens_mm: Annotated[float, Meta(gt=0, le=1000)] | None = None
    aperture: Annotated[float, Meta(ge=1, le=128)] | None = None
    fill: bool = False
    border_mm: Annotated[float, Meta(ge=0, le=500)] = 0.0
    detail_negative_mm: Annotated[float, Meta(gt=0, le=1000)] | None = None
    detail_print_mm: Annotated[float, Meta(gt=0, le=5000)] | None = None


class Filters(Struct, frozen=True, forbid_unknown_fields=True):
    """Either a colour pack (c, m, y) or a contrast ``grade``."""

    c: CC = 0.0
    m: CC = 0.0
    y: CC = 0.0
    grade: str = ""
    head: Literal["", "gel", "dial"] = ""


Part = Annotated[float, Meta(ge=-1, le=2, description="fraction of the sheet, from its top left")]


class Outline(Struct, frozen=True, forbid_unknown_fields=True):
    """Where an area lies, for the preview: one of ``ellipse`` (x, y, rx, ry), ``polygon`` (points) or ``edge``."""

    ellipse: tuple[Part, Part, Part, Part] | None = None
    polygon: Annotated[tuple[tuple[Part, Part], ...], Meta(max_length=64)] | None = None
    edge: Edge | None = None
    depth: Annotated[float, Meta(gt=0, le=1, description="of an edge")] = 0.12
    feather: Annotated[float, Meta(ge=0, le=1, description="softness, fraction of the shorter side")] = 0.05


class Dodge(Struct, frozen=True, forbid_unknown_fields=True):
    """Hold ``area`` back by ``stops`` (1/3 and -1/3 mean the same); ``together``: the dodge done at the same time."""

    area: Name
    stops: Fraction
    together: Annotated[str, Meta(max_length=60)] = ""
    tool: Text = ""
    motion: Text = ""
    outline: Outline | None = None


class Burn(Struct, frozen=True, forbid_unknown_fields=True):
    """Give ``area`` more: ``stops`` of the base, or ``seconds`` through a filter of its own (``grade`` or c, m, y)."""

    area: Name
    stops: Fraction | None = None
    seconds: Seconds | None = None
    filters: Filters | None = None
    tool: Text = ""
    motion: Text = ""
    outline: Outline | None = None


class Edges(Struct, frozen=True, forbid_unknown_fields=True):
    """Burn each named edge by ``stops``."""

    stops: Fraction
    which: tuple[Edge, ...] = ("top", "right", "bottom", "left")
    tool: Text = ""


class Flash(Struct, frozen=True, forbid_unknown_fields=True):
    """An even exposure without the negative, below the paper's threshold; dry-down never touches it."""

    seconds: Seconds
    when: Literal["before", "after"] = "before"
    source: Text = "negative out, lens stopped down"


class Derived(Struct, frozen=True, forbid_unknown_fields=True):
    """Where a derived recipe came from: the original's title, file and SHA-256, the factor, and each step in words."""

    title: Text
    file: Text = ""
    sha256: Text = ""
    factor: Annotated[float, Meta(gt=0)] = 1.0
    says: Annotated[tuple[Text, ...], Meta(max_length=64)] = ()


class Recipe(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    recipe: Literal[1]
    title: Name
    base_s: Seconds
    paper: Paper
    negative: Text = ""
    notes: Text = ""
    enlargement: Enlargement = Enlargement()
    filters: Filters = Filters()
    dodging: Literal["run-through", "stop-start"] = "run-through"
    changeover_s: Annotated[float, Meta(ge=0, le=30)] = 0.0
    dry_down_percent: Annotated[float, Meta(ge=0, le=40)] = 0.0
    order: Annotated[tuple[Name, ...], Meta(max_length=MOST_AREAS)] = ()
    dodge: Annotated[tuple[Dodge, ...], Meta(max_length=MOST_AREAS)] = ()
    burn: Annotated[tuple[Burn, ...], Meta(max_length=MOST_AREAS)] = ()
    edges: Edges | None = None
    flash: Flash | None = None
    derived: Derived | None = None


def parse_recipe(text: str, where: str = "recipe") -> Recipe:
    """A valid recipe from TOML text; LamphouseError with one sentence and the path of the fault otherwise."""
    recipe = decode_toml(text, Recipe, where)
    try:
        _validate(recipe)
    except ValueError as error:
        raise LamphouseError(f"{where}: {error}") from None
    return recipe


def load_recipe(path: Path) -> Recipe:
    """Read and check the recipe at ``path``."""
    return parse_recipe(read_text(path), str(path))


def craft_dodges(recipe: Recipe) -> list[CraftDodge]:
    """The dodges in the order they are done, sizes positive."""
    return [CraftDodge(d.area, abs(d.stops), d.together) for d in in_order(recipe, recipe.dodge)]


def in_order(recipe: Recipe, items: tuple[Local, ...]) -> list[Local]:
    """``items`` as the recipe's ``order`` puts them; areas it does not name keep their place after those it does."""
    rank = {area: n for n, area in enumerate(recipe.order)}
    return sorted(items, key=lambda item: rank.get(item.area, len(rank)))


def filters_text(filters: Filters) -> str:
    """``grade 2 1/2``, ``60M 45Y``, or nothing for no filter."""
    if filters.grade:
        return f"grade {filters.grade}"
    pack = [(filters.c, "C"), (filters.m, "M"), (filters.y, "Y")]
    return " ".join(f"{amount:g}{ink}" for amount, ink in pack if amount)


def recipe_toml(recipe: Recipe) -> str:
    """``recipe`` as TOML text that ``parse_recipe`` reads back as it was; what has its default is left out."""
    import tomli_w

    data = _plain(msgspec.to_builtins(recipe, enc_hook=_as_text), msgspec.to_builtins(_EMPTY, enc_hook=_as_text))
    return tomli_w.dumps({"recipe": 1} | data)


def _as_text(value: Any) -> Any:
    return format_stops(value) if _short(value) else float(value)


def _short(value: Fraction) -> bool:
    return parse_stops(format_stops(value)) == value


NEEDED = ("title", "base_s", "paper")


def _plain(data: dict[str, Any], default: dict[str, Any]) -> dict[str, Any]:
    """``data`` without Nones and without what equals ``default``."""
    out: dict[str, Any] = {}
    for key, value in data.items():
        if value is None or (key in default and value == default[key] and key not in NEEDED):
            continue
        if isinstance(value, dict):
            usual = default.get(key)
            value = _plain(value, usual if isinstance(usual, dict) and key != "paper" else {})
        elif isinstance(value, list | tuple):
            value = [_plain(item, {}) if isinstance(item, dict) else item for item in value]
        if value not in ("", [], {}):
            out[key] = value
    return out


def recipe_schema() -> dict[str, Any]:
    """JSON Schema of the recipe, for editors."""
    stops = {"description": "stops, like 1/3, 1 1/2 or 0.25", "type": ["string", "number"]}
    return msgspec.json.schema(Recipe, schema_hook=lambda kind: stops)


def _validate(recipe: Recipe) -> None:
    """What types alone cannot say. Raises ValueError with the path first."""
    for name, value in _numbers(recipe):
        if not math.isfinite(value):
            raise ValueError(f"{name}: must be a plain number, not {value}")
    _check_filters(recipe.filters, "filters", recipe.paper.kind)
    for n, dodge in enumerate(recipe.dodge):
        if dodge.stops == 0:
            raise ValueError(f"dodge[{n}].stops: a dodge of 0 stops does nothing; leave it out or give a size like 1/3")
    for n, burn in enumerate(recipe.burn):
        _check_burn(burn, f"burn[{n}]", recipe.paper.kind)
    _check_areas(recipe)
    for n, dodge in enumerate(recipe.dodge):
        _check_outline(dodge.outline, f"dodge[{n}].outline")
    for n, burn in enumerate(recipe.burn):
        _check_outline(burn.outline, f"burn[{n}].outline")
    for key, text, read in (
        ("frame", recipe.enlargement.frame, parse_frame),
        ("sheet", recipe.enlargement.sheet, parse_sheet),
    ):
        if text:
            try:
                read(text)
            except ValueError as error:
                raise ValueError(f"enlargement.{key}: {error}") from None
    if recipe.edges and recipe.edges.stops <= 0:
        raise ValueError("edges.stops: an edge burn adds light; give it more than 0 stops, like 1/6")
    if recipe.edges and len(set(recipe.edges.which)) != len(recipe.edges.which):
        raise ValueError("edges.which: names an edge twice; name each edge once")
    if recipe.dry_down_percent and recipe.paper.kind == "ra4":
        raise ValueError('dry_down_percent: dry-down is for black-and-white paper; leave it out with kind = "ra4"')
    try:
        segments(recipe.base_s, craft_dodges(recipe), recipe.changeover_s)
    except ValueError as error:
        raise ValueError(f"dodge: {error}") from None


def _check_burn(burn: Burn, path: str, kind: str) -> None:
    if (burn.stops is None) == (burn.seconds is None):
        raise ValueError(
            f"{path}: give either stops (of the base) or seconds (with filters of its own), not both or neither"
        )
    if burn.stops is not None and burn.stops <= 0:
        raise ValueError(f"{path}.stops: a burn adds light, so {burn.stops} is no burn; to hold light back use [[dodge]]")
    if burn.stops is not None and burn.filters is not None:
        raise ValueError(f"{path}: stops do not compare across filters; give this burn in seconds, or without filters")
    if burn.seconds is not None and burn.filters is None:
        raise ValueError(f"{path}: a burn in seconds needs filters of its own; through the same filter give it in stops")
    if burn.filters is not None:
        _check_filters(burn.filters, f"{path}.filters", kind)


def _check_filters(filters: Filters, path: str, kind: str) -> None:
    if not filters.grade:
        return
    if filters.c or filters.m or filters.y:
        raise ValueError(f"{path}: give a grade or a c m y pack, not both")
    if kind != "silver":
        raise ValueError(f"{path}.grade: contrast grades are for silver paper; {kind} paper takes c, m and y")
    if filters.grade not in GRADES:
        raise ValueError(f"{path}.grade: {filters.grade!r} is not a grade; the grades are {', '.join(GRADES)}")


def _check_outline(outline: Outline | None, path: str) -> None:
    if outline is None:
        return
    if sum(part is not None for part in (outline.ellipse, outline.polygon, outline.edge)) != 1:
        raise ValueError(f"{path}: give one of ellipse, polygon or edge")
    if outline.polygon is not None and len(outline.polygon) < 3:
        raise ValueError(f"{path}.polygon: an area needs three points or more")
    if outline.ellipse is not None and min(outline.ellipse[2:]) <= 0:
        raise ValueError(f"{path}.ellipse: its radii, the third and fourth numbers, must be more than 0")


def _check_areas(recipe: Recipe) -> None:
    count = len(recipe.dodge) + len(recipe.burn)
    if count > MOST_AREAS:
        raise ValueError(f"dodge and burn: {count} areas; a recipe has {MOST_AREAS} at most")
    for path, names in (("dodge", [d.area for d in recipe.dodge]), ("burn", [b.area for b in recipe.burn])):
        if len(set(names)) < len(names):
            again = next(name for name in names if names.count(name) > 1)
            raise ValueError(f"{path}: area {again!r} is named twice; name each area once, or add the amounts up")
    known = sorted({d.area for d in recipe.dodge} | {b.area for b in recipe.burn})
    for n, area in enumerate(recipe.order):
        if area not in known:
            near = get_close_matches(area, known, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"the areas are {', '.join(known) or 'none yet'}"
            raise ValueError(f"order[{n}]: {area!r} is no dodge or burn here; {hint}")


def _numbers(recipe: Recipe) -> list[tuple[str, float]]:
    found = [
        ("base_s", recipe.base_s),
        ("changeover_s", recipe.changeover_s),
        ("dry_down_percent", recipe.dry_down_percent),
    ]
    found += [(f"filters.{k}", getattr(recipe.filters, k)) for k in "cmy"]
    return found


_EMPTY = Recipe(recipe=1, title="-", base_s=1.0, paper=Paper("silver"))
