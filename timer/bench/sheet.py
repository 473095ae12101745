"""What the paper looks like after a plan: light summed area by area and band by band, then the paper's curve.

Outlines are fractions of the sheet from its top left. A mask is drawn small, blurred by its feather, and enlarged: which
is fast and good enough for a preview.
"""

import math
import re
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from timer.bench import paper as papers
from timer.craft.bw_curve import PaperCurve
from timer.craft.dodge_burn import Dodge, Segment, segments
from timer.craft.filters import Pack, parse_pack
from timer.craft.layers import LAYERS
from timer.craft.lights import Lights
from timer.craft.lights import light as light_of
from timer.craft.stops import at_a_glance
from timer.documents.recipe import Outline, Recipe
from timer.documents.recipe_light import craft_dodges
from timer.plans.model import Plan
from timer.plans.outlines import outlines as outlines_of
from timer.plans.split_grade import WHOLE

Array = npt.NDArray[np.floating[Any]]
Picture = npt.NDArray[np.uint8]
SMALL = 240
EDGE_DEPTH = 0.12
EDGES = ("top", "bottom", "left", "right")
_PATCHES = re.compile(r"patch(?:es)? (\d{1,4})(?: to (\d{1,4}))?", re.ASCII)
FLASH = 0.02
"""Light of the flash's own set-up, lens well stopped down, over that of a clear negative at the print's."""
OWN_EXPOSURE_S, OWN_TONE, MIDDLE = 12.0, 0.22, 0.75
"""A straight print of the built-in scene is right at about this base: then a transmission of 0.22 is a density of 0.75."""
NEUTRAL = Pack(0, 60, 50)
LUX = 10 ** papers.curve_for(papers.RANGE_OF_GRADE["2"], papers.SPEED_OF_FILTERS).log_exposure(MIDDLE) / (
    OWN_EXPOSURE_S * OWN_TONE
)
"""Lux on the easel under a clear negative, which makes the line above true of a filter of grade 2."""
SAFELIGHT_LUX = 0.0005 * LUX
"""Lux on the easel from a poor safelight."""


def mask_of(outline: Outline, width: int, height: int) -> Array:
    """1 inside the outline, 0 outside, feathered between; ``height`` by ``width``."""
    from PIL import Image, ImageDraw, ImageFilter

    image = Image.new("L", (width, height), 0)
    draw = ImageDraw.Draw(image)
    if outline.ellipse:
        x, y, rx, ry = outline.ellipse
        draw.ellipse([(x - rx) * width, (y - ry) * height, (x + rx) * width, (y + ry) * height], fill=255)
    elif outline.polygon:
        draw.polygon([(x * width, y * height) for x, y in outline.polygon], fill=255)
    elif outline.edge:
        depth = outline.depth
        draw.rectangle(_edge_box(outline.edge, depth, width, height), fill=255)
    feather = outline.feather * min(width, height)
    if feather > 0:
        image = image.filter(ImageFilter.GaussianBlur(feather / 2))
    return np.asarray(image, dtype=float) / 255


def _edge_box(edge: str, depth: float, width: int, height: int) -> list[float]:
    return {
        "top": [0.0, 0.0, width, depth * height],
        "bottom": [0.0, (1 - depth) * height, width, height],
        "left": [0.0, 0.0, depth * width, height],
        "right": [(1 - depth) * width, 0.0, width, height],
    }[edge]


def light_maps(plan: Plan, recipe: Recipe | None, width: int, height: int) -> dict[str, Array]:
    """Full-light seconds on every point of the sheet, for each filter setting that the plan uses.

    Areas without an outline are left out: nobody knows where they lie.
    """
    small = (max(2, round(SMALL * width / max(width, height))), max(2, round(SMALL * height / max(width, height))))
    outlines = outlines_of(recipe)
    maps: dict[str, Array] = {}
    second = {burn.area: burn for burn in recipe.burn if burn.dodge} if recipe else {}
    given: dict[tuple[str, str], float] = {}
    for step in plan.steps:
        if step.do != "expose":
            continue
        if step.area == "base" and recipe:
            continue
        if step.area in second:
            given[step.area, step.filters] = given.get((step.area, step.filters), 0.0) + step.seconds
            continue
        light = np.full((small[1], small[0]), step.seconds)
        if plan.patches:
            light = step.seconds * _patch_mask(step.area, len(plan.patches), small)
        elif step.area == "flash":
            light = np.full((small[1], small[0]), step.seconds)
        elif step.area in outlines:
            light = step.seconds * mask_of(outlines[step.area], *small)
        elif (name := step.area.removesuffix(" edge")) in EDGES:
            edge = Outline(edge=name, depth=EDGE_DEPTH, feather=0.1)  # type: ignore[arg-type]
            light = step.seconds * mask_of(edge, *small)
        elif recipe and not step.area.startswith(WHOLE):
            continue  # as a dodge: where nobody has said that it lies, it is not drawn
        key = "flash" if step.area == "flash" else step.filters
        maps[key] = maps.get(key, np.zeros((small[1], small[0]))) + light
    base: dict[str, float] = {}
    for step in plan.steps if recipe else ():
        if step.do == "expose" and step.area == "base":
            base[step.filters] = base.get(step.filters, 0.0) + step.seconds
    for filters, seconds in base.items():
        assert recipe
        laid = segments(seconds, craft_dodges(recipe), recipe.changeover_s)
        light = _in_stretches(laid, outlines, small)
        maps[filters] = maps.get(filters, np.zeros((small[1], small[0]))) + light
    for (area, filters), seconds in given.items():
        assert recipe
        dodges = [Dodge(d.area, abs(d.stops), d.together) for d in second[area].dodge]
        light = _in_stretches(segments(seconds, dodges, recipe.changeover_s), outlines, small)
        if area in outlines:
            light = light * mask_of(outlines[area], *small)
        maps[filters] = maps.get(filters, np.zeros((small[1], small[0]))) + light
    return {key: _enlarged(light, width, height) for key, light in maps.items()}


def _patch_mask(area: str, count: int, size: tuple[int, int]) -> Array:
    """Patches are bands from left to right, patch 1 at the left."""
    named = _PATCHES.fullmatch(area)
    first, last = (int(named[1]), int(named[2] or named[1])) if named else (1, count)
    column = np.floor(np.arange(size[0]) * count / size[0]) + 1
    inside = (column >= first) & (column <= last)
    return np.broadcast_to(inside.astype(float), (size[1], size[0])).copy()


def _in_stretches(laid: Sequence[Segment], outlines: dict[str, Outline], size: tuple[int, int]) -> Array:
    """An exposure with its dodges: each stretch of it, less what is held back in it."""
    light = np.zeros((size[1], size[0]))
    for segment in laid:
        bare = np.ones((size[1], size[0]))
        for area in segment.held:
            if area in outlines:
                bare *= 1 - mask_of(outlines[area], *size)
        light += (segment.end - segment.start) * bare
    return light


def _enlarged(light: Array, width: int, height: int) -> Array:
    from PIL import Image

    image = Image.fromarray(light.astype(np.float32))
    return np.asarray(image.resize((width, height), Image.Resampling.BILINEAR))


def render(
    plan: Plan,
    recipe: Recipe | None,
    negative: Array,
    *,
    safelight_s: float = 0.0,
    own: PaperCurve | None = None,
) -> Picture:
    """The finished sheet, RGB, as large as ``negative``. ``safelight_s``: seconds of a doubtful safelight on it.

    ``own``: the printer's own black-and-white paper, over log10 lux seconds, where all light comes through one filter.
    """
    height, width = negative.shape[:2]
    maps = light_maps(plan, recipe, width, height)
    if plan.paper in ("ra4",):
        return _colour(maps, negative, recipe.paper.speed if recipe else None)
    grey = negative @ np.array([0.15, 0.50, 0.35], dtype=negative.dtype)
    if own and one_curve(plan):
        total = sum((_luxseconds(light, grey, key == "flash") for key, light in maps.items()), np.zeros_like(grey))
        middle = (own.log_exposure[0] + own.log_exposure[-1]) / 2
        return _through_table(total + SAFELIGHT_LUX * safelight_s, np.vectorize(own.density_at), middle)
    if any(key.startswith("grade ") for key in maps):
        return _variable_contrast(maps, grey, recipe, safelight_s)
    return _graded(maps, grey, recipe, safelight_s)


def one_curve(plan: Plan) -> bool:
    """Whether one curve tells what becomes of all light: it comes through one filter, or none; of a variable-contrast
    paper a flash does not."""
    through = {step.filters for step in plan.steps if step.do == "expose" and step.area != "flash"}
    flashed = any(step.area == "flash" for step in plan.steps)
    return len(through) == 1 and not (flashed and through != {""})


def _luxseconds(light: Array, grey: Array, flash: bool) -> Array:
    """Exposure at paper of P200 from full-light seconds; a flash has no negative in."""
    return light * (FLASH if flash else grey) * LUX


def _graded(maps: dict[str, Array], grey: Array, recipe: Recipe | None, safelight_s: float) -> Picture:
    """Black-and-white without contrast filters: one emulsion, of the R and P on its box where the recipe has them."""
    box = recipe.paper if recipe else None
    curve = papers.curve_for(
        box.range if box and box.range else papers.UNFILTERED_R, box.speed if box and box.speed else 200.0
    )
    total = sum((_luxseconds(light, grey, key == "flash") for key, light in maps.items()), np.zeros_like(grey))
    return _through_table(total + SAFELIGHT_LUX * safelight_s, curve.density, curve.middle)


def _variable_contrast(maps: dict[str, Array], grey: Array, recipe: Recipe | None, safelight_s: float) -> Picture:
    """Every filter's light adds up in the paper's grains, as blue and as green exposure; then the paper's density.

    Where the recipe has its paper's P, through its own grade, all light counts by that.
    """
    speed = recipe.paper.speed / papers.filter_speed(recipe.filters.grade) if recipe and recipe.paper.speed else 1.0
    white = papers.filter_light("")
    blue, green = (np.full(grey.shape, SAFELIGHT_LUX * safelight_s * part) for part in white)
    for key, light in maps.items():
        exposure = _luxseconds(light, grey, key == "flash")
        through = papers.filter_light(key.removeprefix("grade ") if key.startswith("grade ") else "")
        blue, green = blue + through[0] * exposure, green + through[1] * exposure
    total = np.log10(np.maximum((blue + green) * speed, 1e-9)).astype(np.float32)
    ratio = np.log10(np.maximum(green, 1e-9) / np.maximum(blue, 1e-9)).astype(np.float32)
    return _through_two_tables(total, ratio)


def _through_two_tables(total: Array, ratio: Array) -> Picture:
    """Density by log exposure in all, between tables for so much more green than blue: big sheets are quick."""
    low, high = -4.0, 4.0
    soft, hard = float(ratio.max()), float(ratio.min())
    levels = np.linspace(hard, soft, 1 if soft - hard < 0.005 else max(2, math.ceil((soft - hard) * 12)))
    logs = np.linspace(low, high, 2048)
    shares = [10**level / (1 + 10**level) for level in levels]
    tables = np.array([papers.vc_density((1 - share) * 10**logs, share * 10**logs) for share in shares], dtype=np.float32)
    index = np.clip((total - low) * (2047 / (high - low)), 0, 2047).astype(np.uint16)
    if len(levels) == 1:
        return _grey(tables[0][index])
    place = (ratio - hard) * ((len(levels) - 1) / (soft - hard))
    below = np.clip(place.astype(np.uint16), 0, len(levels) - 2)
    share = place - below
    return _grey((1 - share) * tables[below, index] + share * tables[below + 1, index])


def _through_table(exposure: Array, density: Callable[[Array], Array], middle: float) -> Picture:
    """A curve through 4096 steps of log exposure about its ``middle``: big sheets are quick."""
    low, high = middle - 3.5, middle + 3.5
    table = np.asarray(density(np.linspace(low, high, 4096)), dtype=np.float32)
    index = (np.log10(np.maximum(exposure, 1e-9).astype(np.float32)) - low) * (4095 / (high - low))
    return _grey(table[np.clip(index, 0, 4095).astype(np.uint16)])


_SRGB = papers.srgb(np.linspace(0, 4, 4096))


def _on_screen(density: Array) -> Picture:
    return np.asarray(_SRGB[np.clip(density * (4095 / 4), 0, 4095).astype(np.uint16)])


def _grey(density: Array) -> Picture:
    return np.repeat(_on_screen(density)[..., None], 3, axis=-1)


def _colour(maps: dict[str, Array], negative: Array, speed: float | None) -> Picture:
    """Three layers behind the orange base; a pack of 60M 50Y prints a neutral negative neutral. Of a paper whose ``speed`` P
    is said, all light counts by that: the bench's own stands for P200, our choice, as its black-and-white one does."""
    total: Array = np.zeros(negative.shape)
    for key, light in maps.items():
        if key == "flash":
            total += FLASH * light[..., None]
            continue
        total += light[..., None] * negative * _through(key)
    total = total * ((speed or papers.SPEED_OF_FILTERS) / papers.SPEED_OF_FILTERS)
    logs = np.log10(np.maximum(total.astype(np.float32), 1e-6))
    anchors = np.array([layer.log_exposure(MIDDLE - papers.COLOUR.base) for layer in papers.COLOUR.layers])
    return _on_screen(papers.COLOUR.densities(logs - math.log10(OWN_EXPOSURE_S * OWN_TONE) + anchors))


_LIGHTS = re.compile(r"R(\d+\.?\d*) G(\d+\.?\d*) B(\d+\.?\d*)(?: at (\d+\.?\d*) a stop)?.*")


def _through(filters: str) -> Array:
    """Red, green and blue light through ``filters`` over that through the neutral pack.

    Of three lights, ``R80 G60 B50``, over the strongest of them; or one of them alone, ``red``, as much as white has of it:
    how bright a head's own lights are is not known here, so equal ones print the built-in scene as the neutral pack does.
    """
    if filters in LAYERS:
        return np.array([float(filters == layer) for layer in LAYERS])
    lights = _LIGHTS.fullmatch(filters)
    if lights:
        shine = np.array(light_of(Lights(*(float(part or 0) for part in lights.groups()))))
        return np.asarray(shine / max(float(shine.max()), 1e-9))
    try:
        pack = parse_pack(filters) if filters else Pack()
    except ValueError:
        pack = Pack()
    return np.asarray(10 ** (-np.array([pack.c, pack.m - NEUTRAL.m, pack.y - NEUTRAL.y]) / 100))


def half_blocks(picture: Picture, width: int) -> list[list[tuple[tuple[int, ...], tuple[int, ...]]]]:
    """Rows of (upper, lower) colours for a terminal ``width`` cells wide: two pixels a cell."""
    from PIL import Image

    rows = max(2, round(width * picture.shape[0] / picture.shape[1] / 2) * 2)
    small = np.asarray(Image.fromarray(picture).resize((width, rows), Image.Resampling.BOX))
    return [
        [(tuple(map(int, small[y, x])), tuple(map(int, small[y + 1, x]))) for x in range(width)] for y in range(0, rows, 2)
    ]


def named_patches(picture: Picture, plan: Plan) -> Picture:
    """``picture`` of a test with the number, the seconds and the filters of each patch written on it, from left to right."""
    from PIL import Image, ImageDraw, ImageFont

    image = Image.fromarray(picture)
    draw = ImageDraw.Draw(image)
    width, height = image.size
    wide = width / max(1, len(plan.patches))
    letter = max(9, min(height // 22, int(wide / 4.6)))
    font = ImageFont.load_default(size=letter)
    for n, patch in enumerate(plan.patches):
        lines = [str(patch.patch), f"{at_a_glance(patch.seconds)} s", *patch.filters.split()]
        middle, size = (n + 0.5) * wide, letter * 1.25
        top = height - (len(lines) + 0.5) * size
        longest = max(draw.textlength(line, font=font) for line in lines)
        draw.rectangle([middle - longest / 2 - 4, top - 3, middle + longest / 2 + 4, height - size * 0.35], fill="white")
        for row, line in enumerate(lines):
            draw.text((middle, top + row * size), line, fill="black", font=font, anchor="ma")
        if n:
            draw.line([n * wide, 0, n * wide, height], fill="white", width=max(1, width // 500))
    return np.asarray(image)


def printing_map(picture: Picture, recipe: Recipe, labels: Sequence[tuple[str, str]]) -> Picture:
    """``picture``, paler, with each outlined area drawn and its stops written in; ``labels`` are (area, text)."""
    from PIL import Image, ImageDraw, ImageFont

    image = Image.fromarray((255 - (255 - picture.astype(float)) * 0.45).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    width, height = image.size
    line = max(2, width // 300)
    draw.rectangle([0, 0, width - 1, height - 1], outline=(90, 90, 90), width=max(1, line // 2))
    letter = max(14, width // 34)
    font = ImageFont.load_default(size=letter)
    outlines = outlines_of(recipe)
    row = 0
    for area, text in labels:
        outline = outlines.get(area)
        say = f"{area} {text}"
        if outline is None:
            draw.text((width * 0.02, height * 0.96 - row * letter * 1.3), say, fill=(0, 0, 0), font=font, anchor="ls")
            row += 1
            continue
        colour = (0, 60, 160) if text.startswith("-") else (160, 30, 0)
        x, y = _draw_outline(draw, outline, width, height, colour, line)
        box = draw.textbbox((x, y), say, font=font, anchor="mm")
        draw.rectangle([box[0] - 4, box[1] - 3, box[2] + 4, box[3] + 3], fill=(255, 255, 255))
        draw.text((x, y), say, fill=colour, font=font, anchor="mm")
    return np.asarray(image)


def _draw_outline(
    draw: object, outline: Outline, width: int, height: int, colour: tuple[int, int, int], line: int
) -> tuple[float, float]:
    """Draws it; returns where its name goes."""
    from PIL import ImageDraw

    assert isinstance(draw, ImageDraw.ImageDraw)
    if outline.ellipse:
        x, y, rx, ry = outline.ellipse
        box = [(x - rx) * width, (y - ry) * height, (x + rx) * width, (y + ry) * height]
        draw.ellipse(box, outline=colour, width=line)
        return x * width, y * height
    if outline.polygon:
        points = [(px * width, py * height) for px, py in outline.polygon]
        draw.line([*points, points[0]], fill=colour, width=line)
        return sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)
    left, top, right, bottom = _edge_box(outline.edge or "top", outline.depth, width, height)
    draw.rectangle([left, top, right - 1, bottom - 1], outline=colour, width=line)
    return (left + right) / 2, (top + bottom) / 2
