"""Where the patches of a test sheet lie on a scan, and beside it the print to match or a step tablet.

What is darker than paper white falls into pieces; the row of pieces whose densities follow what the sheet was given is the
sheet, from whichever end. Nothing here knows a file.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from timer.measure.pieces import DARKER, TILT, Array, Cell, Piece, cell_of, lightest, mask, pieces_of

COARSE = 700
"""Pixels of the longer side on which pieces are looked for."""
FOLLOWS = 0.6
"""Correlation of densities with what was given, from which a row is taken for the sheet."""
LONGER_FOLLOWS = 0.9
"""The same where some patches are as light as the paper."""
STRIP_FOLLOWS = 0.75
"""The same of a strip of one colour, from white to black: a curve is no straight line."""
STRIP_UNEVEN, STRIP_UNEQUAL = 3.0, 0.5
"""What unevenness within patches (density) and unequal lengths (of their mean) count against that correlation."""
STRIP_JAGGED = 1.5
"""The same of steps of density that differ from one to the next."""
STEPS_FOLLOW = 0.97
"""The same of a tablet, whose densities are known."""
MOST_UNEVEN = 1.0
"""Unevenness within patches, of what they differ by, from which a row is none: any cut of one grey follows by chance."""
STEPS_UNEVEN, MOST_UNEQUAL = 0.2, 0.15
"""The same of a tablet, of what lies between two steps, less than which is no step; and how much the lengths of its steps
may differ, of their mean, or how many be none."""
INSIDE = 0.55
"""Share of a patch's sides that is read, about its middle."""


@dataclass(frozen=True)
class Box:
    """Pixels of the picture from its upper left corner."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True)
class Row:
    """The boxes of patches in the plan's order; ``follows``: correlation with what was given; ``turned``: the sheet lies
    with its last patch to the left or at the top."""

    boxes: tuple[Box, ...]
    follows: float
    turned: bool


@dataclass(frozen=True)
class Found:
    """``patches`` and ``tablet`` if there are such rows; ``aim``: the largest other piece."""

    patches: Row | None
    tablet: Row | None
    aim: Box | None


def find(density: Array, expected: Array, tablet: Sequence[float] | None = None) -> Found:
    """On densities (h, w, 3) above the file's own white: the row that follows ``expected`` (n, 3), light in log10; a step
    ``tablet`` of those densities; and the largest piece besides."""
    step = max(1, round(max(density.shape[:2]) / COARSE))
    small = _shrunk(density, step)
    known = np.repeat(np.asarray(tablet)[:, None], 3, 1) if tablet else None
    patches, steps, pieces = None, None, list[Piece]()
    for darker in (DARKER, 2 * DARKER):  # the lid may be whiter than the paper
        pieces = pieces_of(mask(small, darker))
        # the tablet first: a black-and-white strip rises as it does, but less straight
        steps = _best(small, pieces, known, STEPS_FOLLOW, step, equal=len(known) > 4) if known is not None else None
        others = _without(pieces, steps, step)
        patches = _best(small, others, expected, FOLLOWS, step, strip=is_strip(expected)) if len(expected) else None
        if patches or not len(expected):
            break
    left = _without(_without(pieces, steps, step), patches, step)
    least = 0.25 * min(b.width * b.height for b in patches.boxes) / INSIDE**2 / step**2 if patches else 0.0
    aim = max((p for p in left if p.area >= least), key=lambda p: p.area, default=None)
    return Found(patches, steps, _box(cell_of(aim), step) if aim else None)


def paper_white(density: Array) -> Array:
    """The density (3) of what is neither patch nor print nor a dark lid."""
    step = max(1, round(max(density.shape[:2]) / COARSE))
    small = _shrunk(density, step)
    light = small[np.max(small - lightest(small), axis=2) < DARKER]
    return np.asarray(np.median(light, axis=0) if len(light) else lightest(small))


def _shrunk(density: Array, step: int) -> Array:
    height, width = (n // step * step for n in density.shape[:2])
    cut = density[:height, :width]
    return np.asarray(cut.reshape(height // step, step, width // step, step, 3).mean(axis=(1, 3)))


def _without(pieces: list[Piece], row: Row | None, step: int) -> list[Piece]:
    """Those that no box of ``row`` has its middle in the bounds of."""
    middles = [((b.left + b.width / 2) / step, (b.top + b.height / 2) / step) for b in row.boxes] if row else []
    out = []
    for piece in pieces:
        low, high = piece.places.min(axis=0), piece.places.max(axis=0)
        if not any(low[0] <= x <= high[0] and low[1] <= y <= high[1] for x, y in middles):
            out.append(piece)
    return out


# ── rows ─────────────────────────────────────────────────────────────────────


def is_strip(expected: Array) -> bool:
    """More and more light of one colour: any cut of it follows, so that what tells is whether its patches are even."""
    return len(expected) > 3 and bool(np.ptp(expected, axis=1).max() < 1e-6)


def _best(
    small: Array, pieces: list[Piece], expected: Array, least: float, step: int, *, strip: bool = False, equal: bool = False
) -> Row | None:
    """The row whose densities follow ``expected`` best, from either end; of a ``strip`` one of even, equal patches.
    ``equal``: all are of a size, the two at the ends perhaps aside."""
    best: tuple[float, Row] | None = None
    height, width = small.shape[:2]
    for cells, needs in _rows(small, pieces, len(expected), strip=strip):
        if not all(0 <= cell.x < width and 0 <= cell.y < height for cell in cells):
            continue
        read, uneven = _read(small, cells)
        if uneven > MOST_UNEVEN * float(read.std(axis=0).max()) or (equal and not _are_steps(read, uneven, cells)):
            continue
        for turned in (False, True):
            follows = correlation(read[::-1] if turned else read, expected)
            score = follows - (STRIP_UNEVEN * uneven + STRIP_UNEQUAL * _unequal(cells) + _jagged(read) if strip else uneven)
            if follows >= max(least, needs) and (best is None or score > best[0]):
                boxes = tuple(_box(cell, step) for cell in (cells[::-1] if turned else cells))
                best = (score, Row(boxes, follows, turned))
    return best[1] if best else None


def _are_steps(read: Array, uneven: float, cells: list[Cell]) -> bool:
    """Whether each is a step of its own, and they are of a size: another tablet's are cut where its own steps are, or
    across them."""
    apart = np.abs(np.diff(read.mean(axis=1)))
    usual = float(np.median(apart))
    none = float(np.mean(apart < STEPS_UNEVEN * usual))
    return uneven < STEPS_UNEVEN * usual and none < MOST_UNEQUAL and _unequal(cells[1:-1]) < MOST_UNEQUAL


def _unequal(cells: list[Cell]) -> float:
    """How much the patches' lengths differ, of their mean."""
    lengths = np.asarray([cell.along for cell in cells])
    return float(lengths.std() / lengths.mean())


def _jagged(read: Array) -> float:
    """How much steps of density differ from the one before, on the average: patches cut in two go up every other time."""
    return float(np.abs(np.diff(read, n=2, axis=0)).mean()) * STRIP_JAGGED


def correlation(read: Array, expected: Array) -> float:
    """Of densities (n, 3) with what was expected of them, each channel about its own mean."""
    a, b = (x - x.mean(axis=0) for x in (read, expected))
    size = math.sqrt(float((a * a).sum() * (b * b).sum()))
    return float((a * b).sum()) / size if size > 1e-9 else 0.0


def _rows(small: Array, pieces: list[Piece], count: int, *, strip: bool) -> Iterator[tuple[list[Cell], float]]:
    """Ways to see ``count`` patches in the pieces: one piece divided, or several in a row, some of them divided.

    With what its densities must follow at least.
    """
    for piece in pieces:
        cell = cell_of(piece)
        for way in (cell, cell.turned()):
            yield _divided(small, way, count), 0.0
            for light in range(1, count - 2 if strip else min(4, count - 1)):  # as light as the paper are in no piece
                yield from ((cells, STRIP_FOLLOWS if strip else LONGER_FOLLOWS) for cells in _longer(way, count, light))
    for upright in (False, True):
        for line in _lines(pieces, upright):
            for first in range(len(line)):
                for last in range(first + 2, min(len(line), first + count) + 1):
                    yield from ((cells, 0.0) for cells in _shared_out(small, line[first:last], count, upright))
                    light = count - (last - first)
                    if last - first == len(line) and 0 < light < (count - 2 if strip else min(4, count - 1)):
                        needs = STRIP_FOLLOWS if strip else LONGER_FOLLOWS
                        yield from ((cells, needs) for cells in _gone_on(line, light, upright))


def _longer(cell: Cell, count: int, light: int) -> Iterator[list[Cell]]:
    unit = cell.along / (count - light)
    for way in (-1, 1):
        shift = way * unit * light
        x, y = cell.x + shift * math.cos(cell.angle), cell.y + shift * math.sin(cell.angle)
        yield _equal(Cell(x, y, unit * count, cell.across, cell.angle), count)


def _gone_on(line: list[Piece], light: int, upright: bool) -> Iterator[list[Cell]]:
    """Pieces of a patch each with ``light`` more at one end, as far from each other and as large: those that
    are as light as the paper are no pieces."""
    angle = _angle(line, upright)
    if angle is None:
        return
    cells = [cell_of(piece, angle) for piece in line]
    dx, dy = (cells[-1].x - cells[0].x) / (len(cells) - 1), (cells[-1].y - cells[0].y) / (len(cells) - 1)
    for end, way in ((cells[0], -1), (cells[-1], 1)):
        more = [Cell(end.x + way * n * dx, end.y + way * n * dy, end.along, end.across, angle) for n in range(1, light + 1)]
        yield [*more[::-1], *cells] if way < 0 else [*cells, *more]


def _angle(line: list[Piece], upright: bool) -> float | None:
    """How pieces one behind the other lie; None when that is more askew than a sheet is laid."""
    middles = [piece.places.mean(axis=0) for piece in line]
    dx, dy = middles[-1] - middles[0]
    angle = math.atan2(dy, dx)
    return angle if abs(angle - (math.pi / 2 if upright else 0.0)) <= math.radians(TILT) else None


def _equal(cell: Cell, count: int) -> list[Cell]:
    return _cut(cell, np.linspace(0, 1, count + 1))


def _cut(cell: Cell, marks: Array) -> list[Cell]:
    """``cell`` divided along at shares ``marks`` of it, from 0 to 1."""
    out = []
    for a, b in pairwise(marks.tolist()):
        shift = cell.along * (a + b - 1)
        x, y = cell.x + shift * math.cos(cell.angle), cell.y + shift * math.sin(cell.angle)
        out.append(Cell(x, y, cell.along * (b - a), cell.across, cell.angle))
    return out


def _divided(small: Array, cell: Cell, count: int) -> list[Cell]:
    """``cell`` divided where its density steps: least squares of ``count`` even parts, none far from equal."""
    if count == 1:
        return [cell]
    places = max(40, 12 * count)
    profile = _profile(small, cell, places)
    sums = np.concatenate([np.zeros((1, 3)), np.cumsum(profile, axis=0)])
    squares = np.concatenate([[0.0], np.cumsum((profile**2).sum(axis=1))])
    start, end = np.meshgrid(np.arange(places + 1), np.arange(places + 1), indexing="ij")
    length = np.maximum(end - start, 1)
    spread = squares[end] - squares[start] - ((sums[end] - sums[start]) ** 2).sum(axis=2) / length
    unequal = (length * count / places - 1) ** 2
    cost = np.where((end - start) * count >= places / 3, spread + 0.02 * places / count * unequal, np.inf)
    total, back = cost[0], list[npt.NDArray[np.intp]]()
    for _ in range(count - 1):
        ways = total[:, None] + cost
        back.append(np.argmin(ways, axis=0))
        total = np.min(ways, axis=0)
    marks = [places]
    for come_from in reversed(back):
        marks.append(int(come_from[marks[-1]]))
    return _cut(cell, np.asarray([0, *reversed(marks)]) / places)


def _profile(small: Array, cell: Cell, places: int) -> Array:
    """Densities (places, 3) along ``cell``, the median over half its width."""
    along = (np.arange(places) + 0.5) / places * 2 - 1
    across = np.linspace(-0.5, 0.5, 15)
    return np.asarray(np.median(_at(small, cell, along[:, None], across[None, :]), axis=1))


def _at(small: Array, cell: Cell, along: Array, across: Array) -> Array:
    """Densities at shares of the half sides of ``cell``."""
    c, s = math.cos(cell.angle), math.sin(cell.angle)
    u, v = along * cell.along, across * cell.across
    x = np.clip(np.rint(cell.x + u * c - v * s).astype(int), 0, small.shape[1] - 1)
    y = np.clip(np.rint(cell.y + u * s + v * c).astype(int), 0, small.shape[0] - 1)
    return np.asarray(small[y, x])


def _read(small: Array, cells: list[Cell]) -> tuple[Array, float]:
    """Densities (n, 3) of the middles, and how uneven they are on the average."""
    grid = np.linspace(-INSIDE, INSIDE, 7)
    taken = np.stack([_at(small, cell, grid[:, None], grid[None, :]).reshape(-1, 3) for cell in cells])
    return np.asarray(np.median(taken, axis=1)), float(np.mean(np.std(taken, axis=1)))


def _lines(pieces: list[Piece], upright: bool) -> list[list[Piece]]:
    """Pieces of like width one behind the other, along x or, ``upright``, along y."""
    along, across = (1, 0) if upright else (0, 1)
    bounds = [(p.places.min(axis=0), p.places.max(axis=0)) for p in pieces]
    out: list[list[Piece]] = []
    for low, high in bounds:
        inside = []
        for piece, (other_low, other_high) in zip(pieces, bounds, strict=True):
            mine, theirs = high[across] - low[across] + 1, other_high[across] - other_low[across] + 1
            both = min(high[across], other_high[across]) - max(low[across], other_low[across])
            if both > 0.5 * min(mine, theirs) and 0.6 < mine / theirs < 1 / 0.6:
                inside.append(piece)
        line = sorted(inside, key=lambda p: float(p.places[:, along].min()))
        if len(line) > 1 and not any(
            len(line) == len(old) and all(a is b for a, b in zip(line, old, strict=True)) for old in out
        ):
            out.append(line)
    return out


def _shared_out(small: Array, line: list[Piece], count: int, upright: bool) -> Iterator[list[Cell]]:
    """``count`` patches over the pieces of ``line`` by their lengths."""
    angle = _angle(line, upright)
    if angle is None:
        return
    cells = [cell_of(piece, angle) for piece in line]
    unit = sum(cell.along for cell in cells) / count
    shares = [max(1, round(cell.along / unit)) for cell in cells]
    if sum(shares) == count:
        yield [part for cell, share in zip(cells, shares, strict=True) for part in _divided(small, cell, share)]


def _box(cell: Cell, step: int) -> Box:
    """What is read of a patch: upright, well inside of it however it is turned."""
    c, s = abs(math.cos(cell.angle)), abs(math.sin(cell.angle))
    if s > c:  # the row goes down the picture
        c, s, width, height = s, c, cell.across, cell.along
    else:
        width, height = cell.along, cell.across
    inside = min(INSIDE, 0.8 * width / (width * c + height * s), 0.8 * height / (height * c + width * s))
    width, height = width * inside, height * inside
    x, y = cell.x + 0.5, cell.y + 0.5
    return Box(step * (x - width), step * (y - height), 2 * step * width, 2 * step * height)
