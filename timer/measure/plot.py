"""What was read, what is aimed at and what is expected, drawn on the fitted paper's own curve: a panel for each colour.

Told apart by form and letters: circles, squares and triangles are sheets, a diamond the next one, dashes the aim.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from timer.craft.sensitometry import Array, densities, layer_exposures
from timer.craft.solve import STRAIGHT, Reading
from timer.measure.advise import Advice, sentence
from timer.measure.sheet import controls

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

WIDE, HIGH = 1500, 760
"""Pixels of the picture."""
_FINE = 2
"""It is drawn so many times larger, and made smaller for even lines."""
_STOP = float(np.log10(2))
_COLOURS = (("red", "#a02020"), ("green", "#106010"), ("blue", "#2030a0"))
_LEFT, _TOP, _RIGHT, _BOTTOM, _GAP = 70, 130, 60, 130, 54
_INK, _GRID, _SHADE = "#000000", "#d8d8d8", "#eeeeee"
_FORMS = ("circle", "square", "triangle")
_MARK = 7
_NEAR = 2.4 * _MARK
"""Marks as near as this share one line of names."""


@dataclass(frozen=True, eq=False)
class Points:
    """What is drawn, of each colour in the last axis: exposures ``x`` in stops from the next sheet's, ``density``, and
    ``error``, twice the standard deviation (n, 3); names and sheets (n). ``next_density``, ``next_error``, ``aim`` (3)."""

    x: Array
    density: Array
    error: Array
    names: tuple[str, ...]
    sheets: tuple[int, ...]
    curve_x: Array
    curve: Array
    next_density: Array
    next_error: Array
    aim: Array


def points(advice: Advice, readings: Sequence[Reading], names: Sequence[str]) -> Points:
    """The numbers of the plot."""
    known, then = advice.known, advice.then
    at_once = then.seconds * 2.0**then.stops
    here = layer_exposures(known.a, known.head, np.log10([at_once]), np.asarray([controls(advice.setting)]))[0]
    settings = np.asarray([r.controls for r in readings], dtype=float)
    x = layer_exposures(known.a, known.head, np.log10([r.seconds for r in readings]), settings)
    stops = (x - here) / _STOP
    ends = min(-1.5, float(stops.min()) - 0.4), max(1.5, float(stops.max()) + 0.4)
    curve_x = np.linspace(*ends, 121)
    curve = np.empty((len(curve_x), 3))
    for band in range(3):
        along = np.repeat(here[None], len(curve_x), axis=0)
        along[:, band] += curve_x * _STOP
        curve[:, band] = densities(known.paper, along)[:, band]
    return Points(
        stops,
        np.asarray([r.density for r in readings]),
        np.repeat([[2 * r.error] for r in readings], 3, axis=1),
        tuple(names),
        tuple(r.sheet for r in readings),
        curve_x,
        curve,
        known.predict(at_once, controls(advice.setting)),
        2 * then.error,
        np.asarray(advice.aim),
    )


def plot(advice: Advice, readings: Sequence[Reading], names: Sequence[str]) -> bytes:
    """A PNG of ``points``, with the sentence above."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (WIDE * _FINE, HIGH * _FINE), "white")
    page = _Page(ImageDraw.Draw(image))
    these = points(advice, readings, names)
    for line, text in enumerate(page.wrapped(sentence(advice), 21, WIDE - 2 * 20)[:3]):
        page.text(20, 14 + 27 * line, text, 21)
    top = max(2.4, float(these.density.max()) + 0.1, float(these.curve.max()) + 0.1)
    wide = (WIDE - _LEFT - _RIGHT - 2 * _GAP) / 3
    for band, (name, colour) in enumerate(_COLOURS):
        left = _LEFT + band * (wide + _GAP)
        panel = _Panel(page, left, wide, (float(these.curve_x[0]), float(these.curve_x[-1])), top)
        panel.frame(name, first=band == 0)
        panel.curve(these.curve_x, these.curve[:, band], colour)
        panel.aim(float(these.aim[band]))
        panel.next(float(these.next_density[band]), float(these.next_error[band]))
        panel.readings(these, band)
    page.text(WIDE / 2, HIGH - 82, "exposure of the layer, in stops from the next sheet's", 18, anchor="ma")
    _legend(page, sorted(set(these.sheets)))
    out = io.BytesIO()
    image.resize((WIDE, HIGH), Image.Resampling.LANCZOS).save(out, "PNG")
    return out.getvalue()


class _Page:
    """Pillow's drawing in pixels of the picture as it is seen."""

    def __init__(self, draw: "ImageDraw") -> None:
        self._draw = draw

    def line(self, points: Sequence[tuple[float, float]], colour: str = _INK, width: float = 1.0) -> None:
        """Through all ``points``."""
        self._draw.line([_large(point) for point in points], fill=colour, width=round(width * _FINE), joint="curve")

    def shape(self, points: Sequence[tuple[float, float]], fill: str, outline: str | None = None) -> None:
        """A closed figure."""
        self._draw.polygon([_large(point) for point in points], fill=fill, outline=outline, width=2 * _FINE)

    def circle(self, x: float, y: float, radius: float) -> None:
        """Filled."""
        ends = [_large((x - radius, y - radius)), _large((x + radius, y + radius))]
        self._draw.ellipse(ends, fill=_INK, outline="white", width=_FINE)

    def mark(self, form: str, x: float, y: float, size: float = _MARK) -> None:
        """One of the forms, about ``x``, ``y``."""
        if form == "circle":
            self.circle(x, y, size)
        elif form == "square":
            self.shape(
                [(x - size, y - size), (x + size, y - size), (x + size, y + size), (x - size, y + size)], _INK, "white"
            )
        elif form == "triangle":
            self.shape([(x, y - 1.3 * size), (x + 1.2 * size, y + size), (x - 1.2 * size, y + size)], _INK, "white")
        else:
            far = 2 * size  # hollow, and about whatever lies there
            self.line([(x, y - far), (x + far, y), (x, y + far), (x - far, y), (x, y - far)], width=2)

    def text(self, x: float, y: float, text: str, size: float, *, anchor: str = "la", under: str | None = None) -> None:
        """``text`` at ``x``, ``y``; ``under``: the colour of the ground that it has to itself."""
        from PIL import ImageFont

        font = ImageFont.load_default(size=size * _FINE)
        if under:
            box = self._draw.textbbox(_large((x, y)), text, font=font, anchor=anchor)
            self._draw.rectangle([box[0] - 2, box[1] - 2, box[2] + 2, box[3] + 2], fill=under)
        self._draw.text(_large((x, y)), text, fill=_INK, font=font, anchor=anchor)

    def wide(self, text: str, size: float) -> float:
        """Pixels that ``text`` takes."""
        from PIL import ImageFont

        return float(self._draw.textlength(text, font=ImageFont.load_default(size=size * _FINE))) / _FINE

    def wrapped(self, text: str, size: float, room: float) -> list[str]:
        """``text`` in lines that fit ``room`` pixels."""
        lines = [""]
        for word in text.split():
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and self.wide(longer, size) > room:
                lines.append(word)
            else:
                lines[-1] = longer
        return lines


def _large(point: tuple[float, float]) -> tuple[float, float]:
    return point[0] * _FINE, point[1] * _FINE


@dataclass(frozen=True)
class _Panel:
    """One colour's plot: ``ends`` of x in stops, densities from 0 to ``top``."""

    page: _Page
    left: float
    wide: float
    ends: tuple[float, float]
    top: float

    def x(self, stops: float) -> float:
        return self.left + self.wide * (stops - self.ends[0]) / (self.ends[1] - self.ends[0])

    def y(self, density: float) -> float:
        return HIGH - _BOTTOM - (HIGH - _TOP - _BOTTOM) * density / self.top

    def frame(self, name: str, *, first: bool) -> None:
        """Title, ground, grid and figures."""
        page, right = self.page, self.left + self.wide
        for low, high in ((0.0, STRAIGHT[0]), (STRAIGHT[1], self.top)):
            corners = [(self.left, self.y(low)), (right, self.y(low)), (right, self.y(high)), (self.left, self.y(high))]
            page.shape(corners, _SHADE)
        for density in np.arange(0, self.top, 0.5):
            page.line([(self.left, self.y(density)), (right, self.y(density))], _GRID)
            page.text(self.left - 8, self.y(density), f"{density:.1f}", 17, anchor="rm")
        for stops in range(int(np.ceil(self.ends[0])), int(np.floor(self.ends[1])) + 1):
            page.line([(self.x(stops), self.y(0)), (self.x(stops), self.y(self.top))], _GRID)
            page.text(self.x(stops), self.y(0) + 8, f"{stops:+d}" if stops else "0", 17, anchor="ma")
        corners = [(self.left, self.y(0)), (right, self.y(0)), (right, self.y(self.top)), (self.left, self.y(self.top))]
        page.line([*corners, corners[0]])
        page.text(self.left, self.y(self.top) - 8, f"{name} density" if first else name, 20, anchor="ld")

    def curve(self, x: Array, density: Array, colour: str) -> None:
        """The fitted paper."""
        self.page.line([(self.x(a), self.y(d)) for a, d in zip(x, density, strict=True)], colour, 2.5)

    def aim(self, density: float) -> None:
        """A dashed line across, with its figure at the right."""
        right, at = self.left + self.wide, self.left
        while at < right:
            self.page.line([(at, self.y(density)), (min(right, at + 10), self.y(density))], width=1.5)
            at += 18
        self.page.text(right - 6, self.y(density) - 4, f"aim {density:.2f}", 17, anchor="rd", under="white")

    def bar(self, x: float, density: float, error: float) -> None:
        """From so much below to so much above, with a foot at each end."""
        low, high = self.y(max(0.0, density - error)), self.y(min(self.top, density + error))
        self.page.line([(x, low), (x, high)], width=1.5)
        for y in (low, high):
            self.page.line([(x - 5, y), (x + 5, y)], width=1.5)

    def readings(self, these: Points, band: int) -> None:
        """Every reading with its error, those that lie together named in one line."""
        order = sorted(set(these.sheets))
        places = []
        for n, sheet in enumerate(these.sheets):
            x, density = self.x(float(these.x[n, band])), float(these.density[n, band])
            self.bar(x, density, float(these.error[n, band]))
            places.append((x, self.y(density), these.names[n]))
            self.page.mark(_FORMS[order.index(sheet) % len(_FORMS)], x, self.y(density))
        for x, y, name in _together(places):
            self.page.text(x - 13, y - 9, name, 17, anchor="rd", under="white" if x - 40 > self.left else None)

    def next(self, density: float, error: float) -> None:
        """What the next sheet is expected to have."""
        x = self.x(0)
        self.bar(x, density, error)
        self.page.mark("diamond", x, self.y(density))
        self.page.text(x + 16, self.y(density) + 12, f"next {density:.2f}", 17, under="white")


def _together(places: Sequence[tuple[float, float, str]]) -> list[tuple[float, float, str]]:
    """Names of marks that lie on each other, in one line at the first of them."""
    out: list[tuple[float, float, list[str]]] = []
    for x, y, name in sorted(places):
        near = next((group for group in out if abs(group[0] - x) < _NEAR and abs(group[1] - y) < _NEAR), None)
        if near:
            near[2].append(name)
        else:
            out.append((x, y, [name]))
    return [(x, y, " ".join(sorted(names))) for x, y, names in out]


def _legend(page: _Page, sheets: Sequence[int]) -> None:
    y, x = HIGH - 28.0, float(_LEFT)
    shown = sheets[-len(_FORMS) :]
    offset = len(sheets) - len(shown)
    for n, sheet in enumerate(shown):
        page.mark(_FORMS[(n + offset) % len(_FORMS)], x + 8, y)
        page.text(x + 22, y, f"read on sheet {sheet}", 17, anchor="lm")
        x += 50 + page.wide(f"read on sheet {sheet}", 17)
    page.mark("diamond", x + 10, y)
    page.text(x + 32, y, "the next sheet", 17, anchor="lm")
    x += 56 + page.wide("the next sheet", 17)
    says = "bars: twice the standard deviation     shaded: readings count less"
    page.text(x, y, says, 17, anchor="lm")
