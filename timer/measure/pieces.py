"""The pieces into which what is darker than paper white falls, and rectangles about them."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.floating[Any]]
Mask = npt.NDArray[np.bool_]
DARKER = 0.15
"""Density above paper white from which a place is a piece."""
DARK_LID = 0.8
"""Density above paper white of a border that is no white lid."""
SMALLEST = 0.0008
"""Of the picture: the smallest piece. A step of a tablet is 8 mm square."""
MOST_PIECES = 40
TILT = 15
"""Degrees that a sheet may lie askew."""


@dataclass(frozen=True, eq=False)
class Piece:
    """Places of its pixels (n, 2) as x, y."""

    places: Array

    @property
    def area(self) -> int:
        """How many places."""
        return len(self.places)


@dataclass(frozen=True)
class Cell:
    """A patch: middle, half its sides along and across the row, and how the row is turned (radians)."""

    x: float
    y: float
    along: float
    across: float
    angle: float

    def turned(self) -> "Cell":
        """The same with its other side along."""
        return Cell(self.x, self.y, self.across, self.along, self.angle + math.pi / 2)


def lightest(small: Array) -> Array:
    """Density (3) of the lightest there is, specks of glare aside."""
    return np.asarray(np.percentile(small.reshape(-1, 3), 3, axis=0))


def mask(small: Array, darker: float = DARKER) -> Mask:
    """What of densities (h, w, 3) is darker than the paper, by ``darker``, and no lid."""
    over = np.max(small - lightest(small), axis=2)
    dark = over > darker
    border = np.concatenate([over[0], over[-1], over[:, 0], over[:, -1]])
    if np.median(border) > DARK_LID:  # what hangs together with a dark lid is lid
        numbered = _labels(dark)
        lid = np.unique(np.concatenate([numbered[0], numbered[-1], numbered[:, 0], numbered[:, -1]]))
        dark &= ~np.isin(numbered, lid[lid > 0])
    return _grown(~_grown(~dark))  # lines and specks go


def _grown(mask: Mask) -> Mask:
    """Each place with its eight neighbours."""
    wide = np.pad(mask, 1)
    out = np.zeros_like(mask)
    for dy in range(3):
        for dx in range(3):
            out |= wide[dy : dy + mask.shape[0], dx : dx + mask.shape[1]]
    return out


def _labels(mask: Mask) -> npt.NDArray[np.int64]:
    """Numbers of connected places, 0 elsewhere: runs of each line joined with those of the line above."""
    parent = [0]

    def root(n: int) -> int:
        while parent[n] != n:
            parent[n] = parent[parent[n]]
            n = parent[n]
        return n

    labels = np.zeros(mask.shape, dtype=np.int64)
    above: list[tuple[int, int, int]] = []
    edges = np.diff(np.pad(mask, ((0, 0), (1, 1))).astype(np.int8), axis=1)
    for y, line in enumerate(edges):
        here = []
        at = 0
        for start, stop in zip(np.flatnonzero(line == 1).tolist(), np.flatnonzero(line == -1).tolist(), strict=True):
            number = len(parent)
            parent.append(number)
            while at and above[at - 1][1] > start:
                at -= 1
            while at < len(above) and above[at][0] < stop:
                if above[at][1] > start:
                    parent[root(above[at][2])] = root(number)
                at += 1
            here.append((start, stop, number))
            labels[y, start:stop] = number
        above = here
    return np.asarray([root(n) for n in range(len(parent))])[labels]


def pieces_of(dark: Mask) -> list[Piece]:
    """What hangs together of ``dark``, the largest first, without what is too small to be a patch."""
    numbered = _labels(dark)
    ys, xs = np.nonzero(numbered)
    numbers = numbered[ys, xs]
    order = np.argsort(numbers, kind="stable")
    found = np.split(np.column_stack([xs, ys])[order].astype(float), np.flatnonzero(np.diff(numbers[order])) + 1)
    large = [Piece(places) for places in found if len(places) >= SMALLEST * dark.size]
    return sorted(large, key=lambda piece: -piece.area)[:MOST_PIECES]


def cell_of(piece: Piece, angle: float | None = None) -> Cell:
    """The smallest rectangle about it, or that at ``angle``; along is the side next to the x axis."""
    angles = np.radians(np.arange(-2 * TILT, 2 * TILT + 1) / 2) if angle is None else np.asarray([angle])
    some = piece.places[:: max(1, piece.area // 4000)]
    c, s = np.cos(angles), np.sin(angles)
    u, v = some @ np.stack([c, s]), some @ np.stack([-s, c])
    middle_u, middle_v = (u.max(axis=0) + u.min(axis=0)) / 2, (v.max(axis=0) + v.min(axis=0)) / 2
    along, across = np.ptp(u, axis=0) / 2 + 0.5, np.ptp(v, axis=0) / 2 + 0.5
    n = int(np.argmin(along * across * (1 + 0.001 * np.abs(angles))))
    x, y = middle_u * c - middle_v * s, middle_u * s + middle_v * c
    return Cell(float(x[n]), float(y[n]), float(along[n]), float(across[n]), float(angles[n]))
