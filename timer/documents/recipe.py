"""The recipe: how a print is made, as the printer saves it (TOML, ``recipe = 1``).

Amounts of light are in stops, so that changing the base rescales them all; only the base, a flash and a burn through a
filter of its own are in full-light seconds. ``docs/recipe.md`` explains every key. A recipe that is read is one that can
be made: the times that a plan will have (``laid_out``, ``burn_light``, ``edge_light``) are found here, for both.
"""

from fractions import Fraction
from typing import Annotated, Literal, TypeVar

from msgspec import Meta, Struct

Name = Annotated[str, Meta(min_length=1, max_length=60)]
Text = Annotated[str, Meta(max_length=4000)]
Seconds = Annotated[float, Meta(gt=0, le=3600, description="full-light seconds")]
CC = Annotated[float, Meta(ge=0, le=250, description="CC units, or the head's own dial units")]
Level = Annotated[float, Meta(ge=0, le=10_000, description="a light of an additive or tricolour head")]
Edge = Literal["top", "bottom", "left", "right"]

Local = TypeVar("Local", "Dodge", "Burn")
MAX_AREAS = 64
"""The most dodges and burns together in one recipe."""

GRADES = ("00", "0", "1/2", "1", "1 1/2", "2", "2 1/2", "3", "3 1/2", "4", "4 1/2", "5")

PAPERS = {"bw": "black-and-white", "ra4": "colour", "pan": "panchromatic"}
"""Kinds of paper, in words."""


class Paper(Struct, frozen=True, forbid_unknown_fields=True):
    """``kind``: bw (black-and-white, red or amber safelight), ra4 (colour), pan (panchromatic). ``speed`` is through
    the recipe's own contrast grade, if it has one."""

    kind: Literal["bw", "ra4", "pan"]
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
    head: Literal["", "cp", "dichroic", "additive", "tricolour"] = ""
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
    """Give ``area`` more: ``stops`` of the base, or ``seconds`` through a filter of its own (``grade`` or c, m, y).

    ``dodge``: what is held back during it, in stops of its own light, as in the second pass of a split-grade print.
    """

    area: Name
    stops: Fraction | None = None
    seconds: Seconds | None = None
    filters: Filters | None = None
    dodge: Annotated[tuple[Dodge, ...], Meta(max_length=MAX_AREAS)] = ()
    tool: Text = ""
    motion: Text = ""
    outline: Outline | None = None


class Edges(Struct, frozen=True, forbid_unknown_fields=True):
    """Burn each named edge by ``stops``."""

    stops: Fraction
    which: tuple[Edge, ...] = ("top", "right", "bottom", "left")
    tool: Text = ""


class Flash(Struct, frozen=True, forbid_unknown_fields=True):
    """An even exposure without the negative, below the paper's threshold; dry-down does not shorten it."""

    seconds: Seconds
    when: Literal["before", "after"] = "before"
    source: Text = "negative out, lens stopped down"


Change = Annotated[float, Meta(ge=-500, le=500, description="CC of c, m, y more")]


class AreaChange(Struct, frozen=True, forbid_unknown_fields=True):
    """The last correction of one area: ``stops`` more, or less below 0."""

    area: Name
    stops: Fraction


class Derived(Struct, frozen=True, forbid_unknown_fields=True):
    """Where a derived recipe came from: the original's title, file and SHA-256, the factor, and each step in words.

    ``stops`` and ``change`` (of c, m, y) are the correction that was asked for, so that the next one knows whether the
    direction has turned; ``areas`` are those of single areas.
    """

    title: Text
    file: Text = ""
    sha256: Text = ""
    factor: Annotated[float, Meta(gt=0, le=1e12)] = 1.0
    says: Annotated[tuple[Text, ...], Meta(max_length=64)] = ()
    stops: Fraction | None = None
    change: tuple[Change, Change, Change] | None = None
    areas: Annotated[tuple[AreaChange, ...], Meta(max_length=64)] = ()


class Recipe(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One print: times in full-light seconds, amounts in stops, places in shares of the picture's sides.

    ``picture``: a file, a photo or scan of the work print, for the map to lie over.
    """

    recipe: Literal[1]
    title: Name
    base_s: Seconds
    paper: Paper
    negative: Text = ""
    notes: Text = ""
    picture: Text = ""
    enlargement: Enlargement = Enlargement()
    filters: Filters = Filters()
    dodging: Literal["run-through", "stop-start"] = "run-through"
    changeover_s: Annotated[float, Meta(ge=0, le=30)] = 0.0
    dry_down_percent: Annotated[float, Meta(ge=0, le=40)] = 0.0
    order: Annotated[tuple[Name, ...], Meta(max_length=MAX_AREAS)] = ()
    dodge: Annotated[tuple[Dodge, ...], Meta(max_length=MAX_AREAS)] = ()
    burn: Annotated[tuple[Burn, ...], Meta(max_length=MAX_AREAS)] = ()
    edges: Edges | None = None
    flash: Flash | None = None
    derived: Derived | None = None
