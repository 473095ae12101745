"""The control patch over time, drawn: how far each colour is off its aim, with the limits, a point a session.

Told apart by form and letter: circles for red, squares for green, triangles for blue.
"""

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from timer.craft.control import ACT, WATCH
from timer.craft.layers import LAYERS
from timer.measure.drift import Drift

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

WIDE, HIGH = 1400, 700
MOST = 60
"""Sessions in one picture, the newest."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 110, 150, 70, 110
_COLOURS = ("#a02020", "#106010", "#2030a0")


def drift_plot(found: Drift) -> bytes:
    """A PNG of the sessions of ``found``."""
    from PIL import Image, ImageDraw, ImageFont

    image = Image.new("RGB", (WIDE, HIGH), "white")
    draw = ImageDraw.Draw(image)
    large, small = ImageFont.load_default(size=22), ImageFont.load_default(size=17)
    sessions = found.sessions[-MOST:]
    top = max(1.5 * ACT, 1.1 * max(abs(off) for each in sessions for off in each.verdict.off))

    def x(n: int) -> float:
        return _LEFT + (n + 0.5) * (WIDE - _LEFT - _RIGHT) / len(sessions)

    def y(off: float) -> float:
        return _TOP + (top - off) / (2 * top) * (HIGH - _TOP - _BOTTOM)

    draw.text((20, 20), f"{found.name}: density off the aim, session by session", fill="black", font=large)
    lines = [(0.0, "aim"), *((sign * limit, name) for sign in (1, -1) for limit, name in ((WATCH, "watch"), (ACT, "act")))]
    for off, name in lines:
        draw.line([(_LEFT, y(off)), (WIDE - _RIGHT, y(off))], fill="black", width=3 if name == "act" else 1)
        draw.text((_LEFT - 10, y(off)), f"{off:+.2f}" if off else "0", fill="black", font=small, anchor="rm")
        draw.text((WIDE - _RIGHT + 10, y(off)), name, fill="black", font=small, anchor="lm")
    for n, (name, colour) in enumerate(zip(LAYERS, _COLOURS, strict=True)):
        points = [(x(at) + 9 * (n - 1), y(each.verdict.off[n])) for at, each in enumerate(sessions)]
        if len(points) > 1:
            draw.line(points, fill=colour, width=2)
        for point in points:
            _mark(draw, n, point, colour)
        _mark(draw, n, (_LEFT + 170 * n, HIGH - 25), colour)
        draw.text((_LEFT + 170 * n + 18, HIGH - 25), name, fill="black", font=small, anchor="lm")
    every = max(1, len(sessions) // 10)
    for n, each in enumerate(sessions):
        if n % every == 0 or n == len(sessions) - 1:
            draw.text((x(n), HIGH - _BOTTOM + 8), f"{each.run}\n{each.begun[:10]}", fill="black", font=small, anchor="ma")
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def _mark(draw: "ImageDraw", layer: int, at: Sequence[float], colour: str) -> None:
    x, y = at
    if layer == 0:
        draw.ellipse([x - 7, y - 7, x + 7, y + 7], fill=colour)
    elif layer == 1:
        draw.rectangle([x - 7, y - 7, x + 7, y + 7], fill=colour)
    else:
        draw.polygon([(x, y - 9), (x + 9, y + 7), (x - 9, y + 7)], fill=colour)
