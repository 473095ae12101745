"""Checks of a recipe; each fault is said in one sentence."""

from difflib import get_close_matches

from timer.craft import heads
from timer.craft.dodge_burn import SMALLEST_S
from timer.craft.enlargement import parse_frame, parse_sheet
from timer.craft.lights import Lights, on_scale
from timer.craft.stops import told_apart
from timer.documents.recipe import GRADES, MAX_AREAS, Burn, Enlargement, Filters, Outline, Recipe
from timer.documents.recipe_light import (
    Pass,
    burn_laid_out,
    burn_light,
    edge_light,
    laid_out,
    own_filters,
    passes,
    printed_base,
)


def validate(recipe: Recipe) -> None:
    """Check what types alone cannot. Raises ValueError with the path of the fault first."""
    _check_filters(recipe.filters, "filters", recipe.paper.kind)
    for n, dodge in enumerate(recipe.dodge):
        if dodge.stops == 0:
            raise ValueError(f"dodge {n + 1}, stops: a dodge of 0 stops does nothing; leave it out or give a size like 1/3")
    for n, burn in enumerate(recipe.burn):
        _check_burn(burn, f"burn {n + 1}", recipe.paper.kind)
    _check_areas(recipe)
    for n, dodge in enumerate(recipe.dodge):
        _check_outline(dodge.outline, f"dodge {n + 1}, outline")
    for n, burn in enumerate(recipe.burn):
        _check_outline(burn.outline, f"burn {n + 1}, outline")
        for k, dodge in enumerate(burn.dodge):
            _check_outline(dodge.outline, f"burn {n + 1}, dodge {k + 1}, outline")
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
            raise ValueError(
                f"base_s: {told_apart(base, SMALLEST_S)} s of light{named} cannot be given; {SMALLEST_S:g} s is the least"
            )
        try:
            laid_out(recipe, part.share)
        except ValueError as error:
            dried = f"after {recipe.dry_down_percent:g} % of dry-down " if recipe.dry_down_percent else ""
            raise ValueError(f"dodge: {dried}{error}") from None
    burns = [
        (f"burn {n + 1}", burn_light(recipe, burn), passes(own_filters(recipe, burn))) for n, burn in enumerate(recipe.burn)
    ]
    for n, burn in enumerate(recipe.burn):
        for part in passes(own_filters(recipe, burn)) if burn.dodge else ():
            try:
                burn_laid_out(recipe, burn, part.share)
            except ValueError as error:
                raise ValueError(f"burn {n + 1}, dodge: {error}") from None
    edges = [("edges.stops", edge_light(recipe), passes(recipe.filters))] if recipe.edges else []
    flash = [("flash.seconds", recipe.flash.seconds, (Pass(""),))] if recipe.flash else []
    for path, seconds, parts in (*burns, *edges, *flash):
        least = seconds * min(part.share for part in parts)
        if least < SMALLEST_S:
            raise ValueError(
                f"{path}: {told_apart(least, SMALLEST_S)} s of light cannot be given; {SMALLEST_S:g} s is the least"
            )


def _check_burn(burn: Burn, path: str, kind: str) -> None:
    if (burn.stops is None) == (burn.seconds is None):
        raise ValueError(
            f"{path}: give either stops (of the base) or seconds (with filters of its own), not both or neither"
        )
    if burn.stops is not None and burn.stops <= 0:
        raise ValueError(f"{path}, stops: a burn adds light, so {burn.stops} is no burn; to hold light back use [[dodge]]")
    if burn.stops is not None and burn.filters is not None:
        raise ValueError(f"{path}: stops do not compare across filters; give this burn in seconds, or without filters")
    if burn.seconds is not None and burn.filters is None:
        raise ValueError(f"{path}: a burn in seconds needs filters of its own; through the same filter give it in stops")
    if burn.filters is not None:
        _check_filters(burn.filters, f"{path}, filters", kind)
    if burn.dodge and burn.seconds is None:
        raise ValueError(f"{path}, dodge: is for a second exposure, in seconds through filters of its own")
    names = [dodge.area for dodge in burn.dodge]
    if len(set(names)) < len(names):
        again = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"{path}, dodge: area {again!r} is named twice; name each area once, or add the amounts up")
    for n, dodge in enumerate(burn.dodge):
        if dodge.stops == 0:
            raise ValueError(
                f"{path}, dodge {n + 1}.stops: a dodge of 0 stops does nothing; leave it out, or give it a size"
            )


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
    if kind != "bw":
        raise ValueError(f"{path}.grade: contrast grades are for black-and-white paper (bw); {kind} paper takes c, m and y")
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
    count = len(recipe.dodge) + len(recipe.burn) + sum(len(burn.dodge) for burn in recipe.burn)
    if count > MAX_AREAS:
        raise ValueError(f"dodge and burn: {count} areas; a recipe has {MAX_AREAS} at most")
    for path, names in (("dodge", [d.area for d in recipe.dodge]), ("burn", [b.area for b in recipe.burn])):
        if len(set(names)) < len(names):
            again = next(name for name in names if names.count(name) > 1)
            raise ValueError(f"{path}: area {again!r} is named twice; name each area once, or add the amounts up")
    known = sorted({d.area for d in recipe.dodge} | {b.area for b in recipe.burn})
    for n, area in enumerate(recipe.order):
        if area not in known:
            near = get_close_matches(area, known, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"the areas are {', '.join(known) or 'none yet'}"
            raise ValueError(f"order {n + 1}: {area!r} is no dodge or burn here; {hint}")
