"""A true-size template for printing without an easel: where sheet and picture lie, and the pages that it is cut into.

All in millimetres, from the template's top left; the longer side of the sheet lies across.
"""

import math
from dataclasses import dataclass

from timer.craft.enlargement import Size, blades

AROUND = 22.0
"""Room round the sheet for the corner stops."""
STOP, STOP_WIDTH = 50.0, 12.0
"""Arms of a corner stop of card: long enough to be felt in the dark, wide enough to be glued."""
OVERLAP, MARGIN, FOOT = 10.0, 12.0, 16.0
"""Overlap of two pages; unprintable margin; the strip at the foot of a page for its name and ruler."""
PLAY = 0.8
"""Between the stops at the two sides, beyond the sheet, mm: paper that is held at both exactly bows (common practice)."""
PAGES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""ISO 216 and ANSI/ASME Y14.1, short side first."""
MAX_PAGES = 60


@dataclass(frozen=True)
class Box:
    """A rectangle: its top left corner, width and height."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Template:
    """The whole drawing: its size, the sheet, the picture on it, the white along the long and the short sides, and the
    stops: at three corners, so that the sheet slides in from the fourth; those at its right are ``PLAY`` away from it."""

    width: float
    height: float
    sheet: Box
    picture: Box
    white: tuple[float, float]
    stops: tuple[Box, ...]


@dataclass(frozen=True)
class Tile:
    """One page: its row and column from 1, and the part of the template that it shows."""

    row: int
    column: int
    part: Box


@dataclass(frozen=True)
class Tiling:
    """Pages of ``width`` by ``height``, turned as needs fewest of them."""

    width: float
    height: float
    rows: int
    columns: int
    tiles: tuple[Tile, ...]


def template(sheet: Size, picture: Size) -> Template:
    """Sheet and picture, the picture in the middle. ValueError when it is larger than the sheet."""
    if picture.short > sheet.short + 1e-6 or picture.long > sheet.long + 1e-6:
        raise ValueError(
            f"a picture of {picture.short:g} x {picture.long:g} mm is larger than the sheet, "
            f"{sheet.short:g} x {sheet.long:g} mm"
        )
    along_long, along_short = blades(sheet, picture)
    box = Box(AROUND, AROUND, sheet.long, sheet.short)
    inner = Box(AROUND + along_short, AROUND + along_long, picture.long, picture.short)
    arm = min(STOP, sheet.short / 2)
    right, bottom = box.x + box.width, box.y + box.height
    stops = (
        Box(box.x - STOP_WIDTH, box.y - STOP_WIDTH, STOP_WIDTH + arm, STOP_WIDTH),  # top left, along the top
        Box(box.x - STOP_WIDTH, box.y, STOP_WIDTH, arm),
        Box(right - arm, box.y - STOP_WIDTH, PLAY + STOP_WIDTH + arm, STOP_WIDTH),  # top right
        Box(right + PLAY, box.y, STOP_WIDTH, arm),
        Box(box.x - STOP_WIDTH, bottom - arm, STOP_WIDTH, arm),  # bottom left
    )
    return Template(sheet.long + 2 * AROUND, sheet.short + 2 * AROUND, box, inner, (along_long, along_short), stops)


def tiling(of: Template, page: str) -> Tiling:
    """The pages of ``of``, on paper ``page`` of PAGES. ValueError when there would be too many."""
    short, long = PAGES[page]
    made = [_tiled(of, short, long), _tiled(of, long, short)]
    best = min(made, key=lambda tiles: len(tiles.tiles))
    if len(best.tiles) > MAX_PAGES:
        raise ValueError(
            f"this template would take {len(best.tiles)} pages, and {MAX_PAGES} is the most; measure it out by hand"
        )
    return best


def _tiled(of: Template, width: float, height: float) -> Tiling:
    across, down = width - 2 * MARGIN, height - 2 * MARGIN - FOOT
    columns, rows = _count(of.width, across), _count(of.height, down)
    tiles = tuple(
        Tile(row + 1, column + 1, Box(column * (across - OVERLAP), row * (down - OVERLAP), across, down))
        for row in range(rows)
        for column in range(columns)
    )
    return Tiling(width, height, rows, columns, tiles)


def _count(length: float, page: float) -> int:
    return max(1, math.ceil((length - OVERLAP) / (page - OVERLAP) - 1e-9))
