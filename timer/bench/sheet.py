"""What the paper looks like after a plan: light summed area by area and band by band, then the paper's curve.

Outlines are fractions of the sheet from its top left. A mask is drawn small, blurred by its feather, and enlarged: soft
edges cost nothing, and a preview is a preview.
"""

import math
import re
from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from timer.bench import paper as papers
from timer.craft.dodge_burn import segments
from timer.craft.filters import Pack
from timer.plan import Plan
from timer.recipe import Outline, Recipe, craft_dodges

Array = npt.NDArray[np.floating[Any]]
Picture = npt.NDArray[np.uint8]
SMALL = 240
EDGE_DEPTH = 0.12
EDGES = ("top", "bottom", "left", "right")
_PATCHES = re.compile(r"patch(?:es)? (\d{1,4})(?: to (\d{1,4}))?", re.ASCII)
FLASH = 0.02
"""Light of the flash's own set-up, lens well stopped down, over that of a clear negative at the print's."""
OWN_EXPOSURE_S = 12.0
"""A straight print of the built-in scene is right at about this base."""


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
    """Full-light seconds on every point of the sheet, for each filter setting that the plan uses."""
    small = (max(2, round(SMALL * width / max(width, height))), max(2, round(SMALL * height / max(width, height))))
    outlines = _outlines(recipe)
    maps: dict[str, Array] = {}
    for step in plan.steps:
        if step.do != "expose":
            continue
        if step.area == "base" and recipe:
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
        key = "flash" if step.area == "flash" else step.filters
        maps[key] = maps.get(key, np.zeros((small[1], small[0]))) + light
    base = [step for step in plan.steps if step.do == "expose" and step.area == "base"]
    if base and recipe:
        light = _base(recipe, sum(step.seconds for step in base), outlines, small)
        maps[base[0].filters] = maps.get(base[0].filters, np.zeros((small[1], small[0]))) + light
    return {key: _enlarged(light, width, height) for key, light in maps.items()}


def _outlines(recipe: Recipe | None) -> dict[str, Outline]:
    if recipe is None:
        return {}
    dodged = {d.area: d.outline for d in recipe.dodge if d.outline}
    return dodged | {b.area: b.outline for b in recipe.burn if b.outline}


def _patch_mask(area: str, count: int, size: tuple[int, int]) -> Array:
    """Patches are bands from left to right, patch 1 at the left."""
    named = _PATCHES.fullmatch(area)
    first, last = (int(named[1]), int(named[2] or named[1])) if named else (1, count)
    column = np.floor(np.arange(size[0]) * count / size[0]) + 1
    inside = (column >= first) & (column <= last)
    return np.broadcast_to(inside.astype(float), (size[1], size[0])).copy()


def _base(recipe: Recipe, seconds: float, outlines: dict[str, Outline], size: tuple[int, int]) -> Array:
    """The base exposure with its dodges: each stretch of it, less what is held back in it."""
    light = np.zeros((size[1], size[0]))
    for segment in segments(seconds, craft_dodges(recipe), recipe.changeover_s):
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
) -> Picture:
    """The finished sheet, RGB, as large as ``negative``. ``safelight_s``: seconds of a doubtful safelight on it."""
    height, width = negative.shape[:2]
    maps = light_maps(plan, recipe, width, height)
    if plan.paper in ("ra4",):
        return _colour(maps, negative)
    return _silver(maps, negative, safelight_s)


def _silver(maps: dict[str, Array], negative: Array, safelight_s: float) -> Picture:
    """Black-and-white. Each filter's exposure has its own slope; the main one's curve carries the sum."""
    grey = negative @ np.array([0.15, 0.50, 0.35], dtype=negative.dtype)
    main = max((k for k in maps if k != "flash"), key=lambda k: float(maps[k].mean()), default="")
    grade = main.removeprefix("grade ")
    curve = papers.curve_for(papers.RANGE_OF_GRADE.get(grade, 105), 100)
    total = np.zeros_like(grey)
    for key, light in maps.items():
        if key == "flash":
            total += FLASH * light
            continue
        other = papers.RANGE_OF_GRADE.get(key.removeprefix("grade "), papers.RANGE_OF_GRADE.get(grade, 105))
        # A softer filter sees the negative's densities as smaller, by the ratio of the ranges.
        total += light * grey ** (papers.RANGE_OF_GRADE.get(grade, 105) / other)
    total += 0.0005 * safelight_s
    scale = 10 ** curve.log_exposure(0.75) / (OWN_EXPOSURE_S * 0.22)
    return _through_table(total * scale, curve)


def _through_table(exposure: Array, curve: papers.Curve) -> Picture:
    """The curve and the screen's curve together, through 4096 steps of log exposure: big sheets are quick."""
    low, high = curve.middle - 3.5, curve.middle + 3.5
    table = papers.srgb(np.asarray(curve.density(np.linspace(low, high, 4096))))
    index = (np.log10(np.maximum(exposure, 1e-9).astype(np.float32)) - low) * (4095 / (high - low))
    grey = table[np.clip(index, 0, 4095).astype(np.uint16)]
    return np.repeat(grey[..., None], 3, axis=-1)


def _colour(maps: dict[str, Array], negative: Array) -> Picture:
    """Three layers behind the orange base; a pack of 60M 50Y prints the built-in scene neutral."""
    total: Array = np.zeros(negative.shape)
    for key, light in maps.items():
        pack = _pack(key)
        through = 10 ** (-np.array([pack.c, pack.m - 60, pack.y - 50]) / 100)
        total += light[..., None] * negative * through
    logs = np.log10(np.maximum(total.astype(np.float32), 1e-6))
    anchors = np.array([layer.log_exposure(0.75) for layer in papers.COLOUR.layers])
    density = papers.COLOUR.densities(logs - math.log10(OWN_EXPOSURE_S * 0.22) + anchors)
    table = papers.srgb(np.linspace(0, 4, 2048))
    return np.asarray(table[np.clip(density * (2047 / 4), 0, 2047).astype(np.uint16)])


def _pack(text: str) -> Pack:
    from timer.craft.filters import parse_pack

    try:
        return parse_pack(text) if text else Pack()
    except ValueError:
        return Pack()


def half_blocks(picture: Picture, width: int) -> list[list[tuple[tuple[int, ...], tuple[int, ...]]]]:
    """Rows of (upper, lower) colours for a terminal ``width`` cells wide: two pixels a cell."""
    from PIL import Image

    rows = max(2, round(width * picture.shape[0] / picture.shape[1] / 2) * 2)
    small = np.asarray(Image.fromarray(picture).resize((width, rows), Image.Resampling.BOX))
    return [
        [(tuple(map(int, small[y, x])), tuple(map(int, small[y + 1, x]))) for x in range(width)] for y in range(0, rows, 2)
    ]


def printing_map(picture: Picture, recipe: Recipe, labels: Sequence[tuple[str, str]]) -> Picture:
    """``picture``, paler, with each outlined area drawn and its stops written in; ``labels`` are (area, text)."""
    from PIL import Image, ImageDraw, ImageFont

    image = Image.fromarray((255 - (255 - picture.astype(float)) * 0.45).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    width, height = image.size
    line = max(2, width // 300)
    letter = max(14, width // 34)
    font = ImageFont.load_default(size=letter)
    outlines = _outlines(recipe)
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
