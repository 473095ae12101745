"""The recipe: how a print is made, as the printer saves it (TOML, ``recipe = 1``).

Amounts of light are in stops, so that a new base moves them all; only the base, a flash and a burn through a
filter of its own are in full-light seconds. ``docs/recipe.md`` explains every key. A recipe that is read is one that can
be made: the times that a plan will have (``laid_out``, ``burn_light``, ``edge_light``) are found here, for both.
"""

from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

import msgspec
from msgspec import Meta, Struct

from timer.craft import heads
from timer.craft.dodge_burn import SMALLEST_S, Segment, burn_seconds, segments
from timer.craft.dodge_burn import Dodge as CraftDodge
from timer.craft.enlargement import parse_frame, parse_sheet
from timer.craft.filters import Pack
from timer.craft.lights import Lights, on_scale
from timer.craft.stops import exact_stops
from timer.errors import LamphouseError
from timer.files import read_text
from timer.strict import decode_toml

Name = Annotated[str, Meta(min_length=1, max_length=60)]
Text = Annotated[str, Meta(max_length=4000)]
Seconds = Annotated[float, Meta(gt=0, le=3600, description="full-light seconds")]
CC = Annotated[float, Meta(ge=0, le=250, description="CC units, or the head's own dial units")]
Level = Annotated[float, Meta(ge=0, le=10_000, description="a light of an additive or tricolour head")]
Edge = Literal["top", "bottom", "left", "right"]

Local = TypeVar("Local", "Dodge", "Burn")
MOST_AREAS = 64
"""Dodges and burns together: no two hands do more on one sheet."""

GRADES = ("00", "0", "1/2", "1", "1 1/2", "2", "2 1/2", "3", "3 1/2", "4", "4 1/2", "5")


class Paper(Struct, frozen=True, forbid_unknown_fields=True):
    """``kind``: silver (black-and-white, red or amber safelight), ra4 (colour), pan (panchromatic). ``speed`` is through
    the recipe's own contrast grade, if it has one."""

    kind: Literal["silver", "ra4", "pan"]
    name: Text = ""
    speed: Annotated[float, Meta(gt=0, le=10_000, description="ISO speed P, as on the box")] | None = None
    range: Annotated[float, Meta(ge=20, le=300, description="ISO range R, as on the box")] | None = None


class Enlargement(Struct, frozen=True, forbid_unknown_fields=True):
    """``detail_negative_mm`` and ``detail_print_mm``: one detail measured on both; ``lens_to_paper_mm``: the distance as
    measured. The detail wins over the distance, and that over frame and sheet."""

    frame: Text = ""
    sheet: Text = ""
    lens_mm: Annotated[float, Meta(gt=0, le=1000)] | None = None
    aperture: Annotated[float, Meta(ge=1, le=128)] | None = None
    fill: bool = False
    border_mm: Annotated[float, Meta(ge=0, le=500)] = 0.0
    detail_negative_mm: Annotated[float, Meta(gt=0, le=1000)] | None = None
    detail_print_mm: Annotated[float, Meta(gt=0, le=5000)] | None = None
    lens_to_paper_mm: Annotated[float, Meta(gt=0, le=5000)] | None = None


class Filters(Struct, frozen=True, forbid_unknown_fields=True):
    """A colour pack (c, m, y), or a contrast ``grade``, or the three lights of an additive or tricolour head.

    ``additive``: three lights at once; red, green and blue are the levels as the head has them, in proportion to the light
    or, with ``per_stop``, on a scale of so many steps a stop. ``tricolour``: three exposures in turn, through a red, a green
    and a blue filter; the longest is the base, the others are in proportion, so that they may be written in seconds.
    """

    c: CC = 0.0
    m: CC = 0.0
    y: CC = 0.0
    grade: str = ""
    head: Literal["", "gel", "dial", "additive", "tricolour"] = ""
    red: Level = 0.0
    green: Level = 0.0
    blue: Level = 0.0
    per_stop: Annotated[float, Meta(ge=0, le=1000, description="steps of the levels that make one stop")] = 0.0


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


Change = Annotated[float, Meta(ge=-500, le=500, description="CC of c, m, y more")]


class Derived(Struct, frozen=True, forbid_unknown_fields=True):
    """Where a derived recipe came from: the original's title, file and SHA-256, the factor, and each step in words.

    ``stops`` and ``change`` (of c, m, y) are the correction that was asked for, so that the next one knows whether the
    direction has turned.
    """

    title: Text
    file: Text = ""
    sha256: Text = ""
    factor: Annotated[float, Meta(gt=0, le=1e12)] = 1.0
    says: Annotated[tuple[Text, ...], Meta(max_length=64)] = ()
    stops: Fraction | None = None
    change: tuple[Change, Change, Change] | None = None


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


# ── what it comes to ─────────────────────────────────────────────────────────


def dry_factor(recipe: Recipe) -> float:
    """What dry-down leaves of every exposure but the flash."""
    return 1 - recipe.dry_down_percent / 100


def printed_base(recipe: Recipe) -> float:
    """The base as it is exposed, in full-light seconds; of a tricolour head the longest of the three."""
    return recipe.base_s * dry_factor(recipe)


def laid_out(recipe: Recipe, share: float = 1.0) -> tuple[Segment, ...]:
    """The base in stretches, with the dodges in them; of its ``share`` for one colour. ValueError as ``segments``."""
    return segments(printed_base(recipe) * share, craft_dodges(recipe), recipe.changeover_s)


def burn_light(recipe: Recipe, burn: Burn) -> float:
    """Full-light seconds of a burn; through a tricolour head the longest of the three."""
    if burn.seconds is not None:
        return burn.seconds * dry_factor(recipe)
    return burn_seconds(printed_base(recipe), burn.stops or 0)


def edge_light(recipe: Recipe) -> float:
    """Full-light seconds of each edge burn."""
    return burn_seconds(printed_base(recipe), recipe.edges.stops if recipe.edges else 0)


@dataclass(frozen=True)
class Pass:
    """One exposure of the one, or the three, that a filter setting takes: what is in, and its share of the longest."""

    filters: str
    share: float = 1.0


def passes(filters: Filters) -> tuple[Pass, ...]:
    """One, or of a tricolour head one for each colour that has light."""
    if filters.head != "tricolour":
        return (Pass(filters_text(filters)),)
    lights = [("red", filters.red), ("green", filters.green), ("blue", filters.blue)]
    longest = max(amount for _, amount in lights)
    return tuple(Pass(name, amount / longest) for name, amount in lights if amount)


def own_filters(recipe: Recipe, burn: Burn) -> Filters:
    """What is in for a burn: its own filters, or the recipe's."""
    return recipe.filters if burn.filters is None else burn.filters


def setting_of(filters: Filters) -> heads.Setting:
    """The colour setting, for the arithmetic of heads."""
    if filters.head in heads.THREE_LIGHTS:
        return Lights(filters.red, filters.green, filters.blue, filters.per_stop)
    return Pack(filters.c, filters.m, filters.y)


def with_setting(filters: Filters, setting: heads.Setting) -> Filters:
    """``filters`` set to ``setting``, which belongs to the same head."""
    if isinstance(setting, Lights):
        return msgspec.structs.replace(filters, red=setting.red, green=setting.green, blue=setting.blue)
    pack = heads.pack(setting)
    return msgspec.structs.replace(filters, c=pack.c, m=pack.m, y=pack.y)


def filters_text(filters: Filters) -> str:
    """``grade 2 1/2``, ``60M 45Y``, ``R80 G60 B50``, or nothing for no filter."""
    if filters.grade:
        return f"grade {filters.grade}"
    if filters.head in heads.THREE_LIGHTS:
        return str(setting_of(filters)) + (" in turn" if filters.head == "tricolour" else "")
    pack = [(filters.c, "C"), (filters.m, "M"), (filters.y, "Y")]
    return " ".join(f"{amount:g}{ink}" for amount, ink in pack if amount)


# ── written ──────────────────────────────────────────────────────────────────


def recipe_toml(recipe: Recipe) -> str:
    """``recipe`` as TOML text that ``parse_recipe`` reads back as it was; what has its default is left out."""
    import tomli_w

    return tomli_w.dumps(_plain(recipe))


def _plain(value: Any) -> Any:
    """``value`` as TOML has it; of a struct the fields that have not their default."""
    if isinstance(value, Struct):
        fields = [(f, getattr(value, f.name)) for f in msgspec.structs.fields(value)]
        return {f.name: _plain(v) for f, v in fields if f.required or v != f.default}
    if isinstance(value, Fraction):
        return exact_stops(value)
    return [_plain(item) for item in value] if isinstance(value, tuple) else value


def recipe_schema() -> dict[str, Any]:
    """JSON Schema of the recipe, for editors."""
    stops = {"description": "stops, like 1/3, 1 1/2 or 0.25", "type": ["string", "number"]}
    return msgspec.json.schema(Recipe, schema_hook=lambda kind: stops)


def _validate(recipe: Recipe) -> None:
    """What types alone cannot say. Raises ValueError with the path first."""
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
    _check_enlargement(recipe.enlargement)
    if recipe.edges and recipe.edges.stops <= 0:
        raise ValueError("edges.stops: an edge burn adds light; give it more than 0 stops, like 1/6")
    if recipe.edges and not recipe.edges.which:
        raise ValueError("edges.which: names no edge; name one, or leave [edges] out")
    if recipe.edges and len(set(recipe.edges.which)) != len(recipe.edges.which):
        raise ValueError("edges.which: names an edge twice; name each edge once")
    if recipe.dry_down_percent and recipe.paper.kind == "ra4":
        raise ValueError('dry_down_percent: dry-down is for black-and-white paper; leave it out with kind = "ra4"')
    _check_light(recipe)


def _check_enlargement(place: Enlargement) -> None:
    for key, text, read in (("frame", place.frame, parse_frame), ("sheet", place.sheet, parse_sheet)):
        if text:
            try:
                read(text)
            except ValueError as error:
                raise ValueError(f"enlargement.{key}: {error}") from None
    if place.sheet:
        try:
            parse_sheet(place.sheet).inside(place.border_mm)
        except ValueError as error:
            raise ValueError(f"enlargement.border_mm: {error}") from None
    if place.lens_mm and place.lens_to_paper_mm and place.lens_to_paper_mm <= place.lens_mm:
        raise ValueError("enlargement.lens_to_paper_mm: paper is never nearer to the lens than its focal length, lens_mm")


def _check_light(recipe: Recipe) -> None:
    """Every exposure is long enough to be given, as it will be given: dried down, and colour by colour."""
    for part in passes(recipe.filters):
        named = f" through {part.filters}" if part.share < 1 else ""
        base = printed_base(recipe) * part.share
        if base < SMALLEST_S:
            raise ValueError(f"base_s: {base:.1g} s of light{named} cannot be given; {SMALLEST_S:g} s is the least")
        try:
            laid_out(recipe, part.share)
        except ValueError as error:
            dried = f"after {recipe.dry_down_percent:g} % of dry-down " if recipe.dry_down_percent else ""
            raise ValueError(f"dodge: {dried}{error}") from None
    burns = [
        (f"burn[{n}]", burn_light(recipe, burn), passes(own_filters(recipe, burn))) for n, burn in enumerate(recipe.burn)
    ]
    edges = [("edges.stops", edge_light(recipe), passes(recipe.filters))] if recipe.edges else []
    flash = [("flash.seconds", recipe.flash.seconds, (Pass(""),))] if recipe.flash else []
    for path, seconds, parts in (*burns, *edges, *flash):
        least = seconds * min(part.share for part in parts)
        if least < SMALLEST_S:
            raise ValueError(f"{path}: {least:.1g} s of light cannot be given; {SMALLEST_S:g} s is the least")


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
    pack, lights = (filters.c or filters.m or filters.y), (filters.red or filters.green or filters.blue)
    if filters.head in heads.THREE_LIGHTS:
        if pack or filters.grade:
            raise ValueError(f"{path}: {filters.head} printing has red, green and blue lights, no pack and no grade")
        if not lights and not filters.per_stop:
            raise ValueError(f"{path}: give the lights, red, green and blue; all three are at 0")
        if filters.per_stop and filters.head != "additive":
            raise ValueError(f"{path}.per_stop: is for the levels of an additive head; tricolour lights are seconds")
        try:
            on_scale(Lights(filters.red, filters.green, filters.blue, filters.per_stop))
        except ValueError as error:
            raise ValueError(f"{path}: {error}") from None
    elif lights or filters.per_stop:
        raise ValueError(f'{path}: red, green and blue are lights; say head = "additive" or "tricolour"')
    if not filters.grade:
        return
    if pack:
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
