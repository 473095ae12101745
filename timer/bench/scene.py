"""The built-in scene, invented for the demonstration: the foot of a staircase, a tall window, a lamp, a coat on its hook.

It has what a print has to deal with: a window that wants burning in, a lamp brighter than the paper, a dark coat with
some folds left in it, steps that fall into shade, and a plain wall that shows every mistake.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.floating[Any]]
Points = Sequence[tuple[float, float]]
Light = Callable[[Array, Array], Array]
"""Luminance at (x, y), arrays of one shape, fractions of the picture."""

WINDOW = (0.60, 0.09, 0.83, 0.50)
"""Left, top, right, bottom, as fractions of the picture."""
LAMP = (0.40, 0.235)
STEPS, FIRST, FOOT, RUN, RISE = 8, 0.40, 0.90, 0.078, 0.062
TINTS = {"wall": (1.0, 0.93, 0.82), "sky": (0.94, 0.98, 1.0), "wood": (1.0, 0.78, 0.55), "cloth": (0.75, 0.85, 1.0)}


@dataclass(frozen=True)
class Canvas:
    """Where each point lies, and its light so far, which is painted over in place."""

    x: Array
    y: Array
    light: Array


def scene(width: int, height: int) -> Array:
    """Luminances, 0.01 to 1, colour, last axis 3."""
    y, x = np.mgrid[0 : 1 : height * 1j, 0 : 1 : width * 1j]
    canvas = Canvas(x, y, _wall(x, y)[..., None] * np.array(TINTS["wall"]))
    _paint(canvas, _box(0, FOOT, 1, 1), "wood", _floor)
    for draw in (_window, _stairs, _coat, _lamp):
        draw(canvas)
    return np.asarray(np.clip(canvas.light, 0.01, 1.0))


def _wall(x: Array, y: Array) -> Array:
    """Plaster: lit from the window and the lamp, falling off to the left and downwards, a dado below."""
    from_window = np.exp(-(((x - 0.72) / 0.55) ** 2 + ((y - 0.35) / 0.60) ** 2))
    from_lamp = np.exp(-(((x - LAMP[0]) / 0.17) ** 2 + ((y - LAMP[1] - 0.06) / 0.24) ** 2))
    plaster = 1 + 0.025 * np.sin(41 * x + 9 * np.sin(13 * y)) * np.sin(37 * y + 7 * np.sin(11 * x))
    dado = np.where(y > 0.66, 0.62, 1.0) * np.where(abs(y - 0.66) < 0.006, 0.55, 1.0)
    return np.asarray((0.055 + 0.17 * from_window + 0.22 * from_lamp) * plaster * dado)


def _floor(x: Array, y: Array) -> Array:
    """Boards towards the eye, and the window's light on them, slanting."""
    depth = np.clip((y - FOOT) / (1 - FOOT), 0, 1)
    boards = (x - 0.5) / (0.55 + 0.45 * depth) * 9
    seam = np.where(abs(boards - np.round(boards)) < 0.03, 0.6, 1.0)
    slant = (x - 0.34 - 0.20 * depth) / 0.24
    pool = np.exp(-(np.abs(slant * 2) ** 6)) * (0.35 + 0.3 * depth)
    return np.asarray((0.075 + 0.05 * depth + pool) * seam * (0.9 + 0.1 * np.sin(1.7 * np.floor(boards))))


def _window(canvas: Canvas) -> None:
    """Tall panes, brightest at the top, a blur of branches behind; frame, bars and a deep sill."""
    left, top, right, bottom = WINDOW

    def sky(x: Array, y: Array) -> Array:
        branches = np.sin(17 * x + 5 * np.sin(9 * y)) * np.sin(13 * y + 4 * np.sin(8 * x))
        return np.asarray(0.88 - 0.30 * (y - top) / (bottom - top) + 0.07 * branches)

    reveal = _box(left - 0.035, top - 0.04, right + 0.02, bottom + 0.05)
    _paint(canvas, reveal, "wall", lambda x, y: 0.30 - 0.20 * (x - left))
    _paint(canvas, _box(left - 0.015, top - 0.018, right + 0.012, bottom + 0.018), "wood", _even(0.09))
    wide, high = (right - left) / 2, (bottom - top) / 4
    for column in range(2):
        for row in range(4):
            x, y = left + wide * column, top + high * row
            _paint(canvas, _box(x + 0.04 * wide, y + 0.035 * high, x + 0.96 * wide, y + 0.965 * high), "sky", sky)
    under = bottom + 0.035
    sill = [(left - 0.05, under), (right + 0.03, under), (right + 0.05, under + 0.03), (left - 0.06, under + 0.03)]
    _paint(canvas, sill, "wall", _even(0.42))


def _stairs(canvas: Canvas) -> None:
    """Steps that climb to the right, tops in the light and risers in the shade; balusters, a rail before the wall."""
    for n in range(STEPS):
        near, high = FIRST + n * RUN, FOOT - (n + 1) * RISE
        shade = 0.75**n
        base = 0.055 + 0.055 * shade
        _paint(canvas, _box(near, high, 1.0, high + RISE), "wood", lambda x, y, base=base: base - 0.02 * x)  # type: ignore[misc]
        top = [
            (near - 0.012, high),
            (near + RUN + 0.012, high),
            (near + RUN, high + 0.016),
            (near - 0.012, high + 0.016),
        ]
        _paint(canvas, top, "wood", _even(0.16 + 0.20 * shade))
    for n in range(STEPS):
        for part in (0.25, 0.75):
            at = FIRST + (n + part) * RUN
            baluster = _box(at - 0.0045, _rail(at), at + 0.0045, FOOT - (n + 1) * RISE)
            _paint(canvas, baluster, "wood", _ridge(at - 0.003, 0.003, 0.05, 0.16))
    begin = FIRST - 0.03
    rail = [(begin, _rail(begin)), (1.0, _rail(1.0)), (1.0, _rail(1.0) + 0.024), (begin, _rail(begin) + 0.024)]
    _paint(canvas, rail, "wood", lambda x, y: 0.06 + 0.28 * np.exp(-(((y - _rail(x) - 0.006) / 0.005) ** 2)))
    post = _box(FIRST - 0.052, _rail(FIRST) - 0.045, FIRST - 0.022, FOOT + 0.012)
    _paint(canvas, post, "wood", _ridge(FIRST - 0.045, 0.008, 0.05, 0.20))
    top = _rail(FIRST)
    _paint(canvas, _disc(FIRST - 0.037, top - 0.065, 0.021), "wood", _gleam(FIRST - 0.043, top - 0.074, 0.007, 0.07, 0.4))


def _rail(at: Any) -> Any:
    """How far down the rail is at ``at``."""
    return FOOT - RISE - 0.20 - (at - FIRST) * RISE / RUN


def _coat(canvas: Canvas) -> None:
    """A long dark coat on a hook: shoulders, sleeves, folds that are only just there, a lighter scarf."""
    _paint(canvas, _box(0.07, 0.285, 0.29, 0.315), "wood", lambda x, y: 0.16 - 0.1 * (y - 0.285) / 0.03)
    for hook in (0.10, 0.18, 0.26):
        _paint(canvas, _disc(hook, 0.316, 0.008), "cloth", _gleam(hook - 0.002, 0.312, 0.003, 0.03, 0.5))
    outline = [
        (0.165, 0.325), (0.195, 0.325), (0.236, 0.355), (0.256, 0.42), (0.262, 0.60), (0.248, 0.605), (0.240, 0.50),
        (0.252, 0.76), (0.245, 0.785), (0.185, 0.80), (0.118, 0.785), (0.112, 0.76), (0.124, 0.50), (0.112, 0.605),
        (0.096, 0.60), (0.104, 0.42), (0.124, 0.355),
    ]  # fmt: skip

    def cloth(x: Array, y: Array) -> Array:
        folds = 0.5 + 0.5 * np.sin(150 * (x - 0.18) + 2.5 * np.sin(8 * y))
        return np.asarray(0.016 + 0.022 * folds * (0.3 + y) + 0.03 * np.clip((x - 0.18) / 0.08, 0, 1))

    _paint(canvas, outline, "cloth", cloth)
    lapel = [(0.178, 0.335), (0.200, 0.40), (0.184, 0.50), (0.176, 0.50), (0.176, 0.40)]
    _paint(canvas, lapel, "cloth", _even(0.075))
    scarf = [(0.160, 0.327), (0.202, 0.327), (0.213, 0.36), (0.207, 0.52), (0.190, 0.525), (0.192, 0.375), (0.170, 0.352)]
    _paint(canvas, scarf, "wall", lambda x, y: 0.26 + 0.16 * np.sign(np.sin(120 * y)))


def _lamp(canvas: Canvas) -> None:
    """A pendant: flex, a dark shade, the bulb below it, and its glow on what is near."""
    at, low = LAMP
    _paint(canvas, _box(at - 0.0015, 0.0, at + 0.0015, low - 0.07), "cloth", _even(0.02))
    _paint(canvas, _disc(at, low + 0.006, 0.019), "wall", _even(1.0))
    shade = [(at - 0.016, low - 0.075), (at + 0.016, low - 0.075), (at + 0.066, low), (at - 0.066, low)]
    _paint(canvas, shade, "cloth", _ridge(at - 0.02, 0.014, 0.05, 0.10))
    x, y = canvas.x, canvas.y
    glow = 0.30 * np.exp(-(((x - at) / 0.055) ** 2 + ((y - low - 0.02) / 0.06) ** 2)) * np.clip((y - low) / 0.02, 0, 1)
    canvas.light[...] += glow[..., None] * np.array(TINTS["wall"])


# ── drawing ──────────────────────────────────────────────────────────────────


def _even(light: float) -> Light:
    return lambda x, y: np.full_like(x, light)


def _ridge(at: float, width: float, dark: float, bright: float) -> Light:
    """Round from left to right, with a line of light on it."""
    return lambda x, y: dark + bright * np.exp(-(((x - at) / width) ** 2))


def _gleam(at: float, down: float, size: float, dark: float, bright: float) -> Light:
    """A ball with a spot of light on it."""
    return lambda x, y: dark + bright * np.exp(-(((x - at) / size) ** 2 + ((y - down) / size) ** 2))


def _box(left: float, top: float, right: float, bottom: float) -> Points:
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def _disc(x: float, y: float, radius: float) -> Points:
    """Round on a picture of five to four."""
    angles = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    return [(x + radius * np.cos(a), y + 1.25 * radius * np.sin(a)) for a in angles]


def _paint(canvas: Canvas, points: Points, tint: str, light: Light) -> None:
    """``light`` within ``points``, its edges smooth: the mask is drawn three times as large, and no larger than it is."""
    from PIL import Image, ImageDraw

    height, width = canvas.x.shape
    xs, ys = [px * width for px, _ in points], [py * height for _, py in points]
    left, right = max(0, int(min(xs)) - 1), min(width, int(max(xs)) + 2)
    top, bottom = max(0, int(min(ys)) - 1), min(height, int(max(ys)) + 2)
    if left >= right or top >= bottom:
        return
    fine = 3
    image = Image.new("L", ((right - left) * fine, (bottom - top) * fine), 0)
    shape = [((px - left) * fine, (py - top) * fine) for px, py in zip(xs, ys, strict=True)]
    ImageDraw.Draw(image).polygon(shape, fill=255)
    mask = np.asarray(image.resize((right - left, bottom - top), Image.Resampling.BOX), dtype=float)[..., None] / 255
    here = (slice(top, bottom), slice(left, right))
    over = light(canvas.x[here], canvas.y[here])[..., None] * np.array(TINTS[tint])
    canvas.light[here] = canvas.light[here] * (1 - mask) + over * mask
