"""A sheet in a frame, in cells of two pixels: outlines over the printer's picture, or over nothing, and words upon them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from rich.style import Style
from rich.text import Text

from timer.documents.recipe import Outline
from timer.plans.outlines import middle

Pixels = Sequence[Sequence[tuple[int, int, int]]]
"""Rows of colours, as many and as long as ``size`` says."""
LEAST = 4


def size(shape: float, width: int, height: int) -> tuple[int, int]:
    """Pixels across and down of a sheet of ``shape`` (width over height) whose frame fits ``width`` by ``height`` cells."""
    wide, rows = max(LEAST, width - 2), max(2, height - 2)
    across = min(wide, max(LEAST, round(rows * 2 * shape)))
    return across, 2 * max(1, min(rows, round(across / shape / 2)))


def framed(
    there: Mapping[str, Outline],
    words: Mapping[str, str],
    shape: float,
    width: int,
    height: int,
    pixels: Pixels | None = None,
    point: tuple[float, float] | None = None,
) -> Text:
    """The sheet with what is ``there``, its ``words`` in the middle of each; ``point`` is marked with a cross.

    With ``pixels`` it has their size and turn; a line is white where the picture is dark, and black where it is light.
    """
    across, down = (len(pixels[0]), len(pixels)) if pixels else size(shape, width, height)
    lines = {place for outline in there.values() for place in drawn(outline, across, down)}
    signs = _signs(there, words, across, down // 2)
    if point:
        signs[min(across - 1, int(point[0] * across)), min(down // 2 - 1, int(point[1] * down / 2))] = "+"
    out = Text(no_wrap=True)
    out.append("┌" + "─" * across + "┐\n")
    for y in range(0, down, 2):
        out.append("│")
        for x in range(across):
            _cell(out, x, y, signs.get((x, y // 2), ""), lines, pixels)
        out.append("│\n")
    out.append("└" + "─" * across + "┘")
    return out


def _cell(out: Text, x: int, y: int, sign: str, lines: set[tuple[int, int]], pixels: Pixels | None) -> None:
    up, low = (x, y) in lines, (x, y + 1) in lines
    if sign:
        out.append(sign, Style(bold=True, color="#ffffff", bgcolor="#000000"))
    elif pixels is None:
        out.append({(True, True): "█", (True, False): "▀", (False, True): "▄"}.get((up, low), " "))
    else:
        upper, lower = (_contrast(pixels[n][x]) if lit else pixels[n][x] for n, lit in ((y, up), (y + 1, low)))
        out.append("▀", Style(color=hex_of(upper), bgcolor=hex_of(lower)))


def _contrast(colour: tuple[int, int, int]) -> tuple[int, int, int]:
    return (0, 0, 0) if sum(colour) > 3 * 127 else (255, 255, 255)


def hex_of(colour: tuple[int, ...]) -> str:
    """Red, green, blue as Rich writes a colour."""
    return "#{:02x}{:02x}{:02x}".format(*colour)


def _signs(there: Mapping[str, Outline], words: Mapping[str, str], across: int, rows: int) -> dict[tuple[int, int], str]:
    """Each area's words in its middle, no two on one another; a row higher or lower where that is taken."""
    out: dict[tuple[int, int], str] = {}
    for area, text in words.items():
        text = text[:across]
        x, y = middle(there[area])
        left = max(0, min(across - len(text), round(x * across - len(text) / 2)))
        row = max(0, min(rows - 1, int(y * rows)))
        for at in sorted(range(rows), key=lambda n: abs(n - row)):
            places = [(left + n, at) for n in range(len(text))]
            if not any(place in out for place in places):
                out |= dict(zip(places, text, strict=True))
                break
    return out


def drawn(outline: Outline, across: int, down: int) -> Iterator[tuple[int, int]]:
    """The pixels of ``outline`` that are on a sheet of ``across`` by ``down``."""
    for x, y in _points(outline, 4 * (across + down)):
        place = math.floor(x * across), math.floor(y * down)
        if 0 <= place[0] < across and 0 <= place[1] < down:
            yield place


def _points(outline: Outline, count: int) -> Iterator[tuple[float, float]]:
    if outline.ellipse:
        x, y, rx, ry = outline.ellipse
        for n in range(count):
            turn = 2 * math.pi * n / count
            yield x + rx * math.cos(turn), y + ry * math.sin(turn)
        return
    if outline.polygon:
        corners = list(outline.polygon)
        ends = list(zip(corners, [*corners[1:], corners[0]], strict=True))
    else:
        deep = outline.depth
        ends = {
            "top": [((0.0, deep), (1.0, deep))],
            "bottom": [((0.0, 1 - deep), (1.0, 1 - deep))],
            "left": [((deep, 0.0), (deep, 1.0))],
            "right": [((1 - deep, 0.0), (1 - deep, 1.0))],
        }[outline.edge or "top"]
    for (x, y), (to_x, to_y) in ends:
        for n in range(count):
            yield x + (to_x - x) * n / count, y + (to_y - y) * n / count
