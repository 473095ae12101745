"""Seconds in digits big enough for 1.5 m: centred, in the same place and as wide from 12:30 down to 0.1."""

import math

from textual.widgets import Static

from timer.craft.stops import minutes
from tui.widgets.blocks import HIGH, cells, pixels

LARGEST = 8
MINUTE = 600
"""Tenths of a second from which on minutes are counted: then tenths say nothing."""


def spelled(seconds: float) -> tuple[str, str]:
    """What stands large, and what small: ``12:30`` and nothing, or ``9`` and ``.4``."""
    tenths = max(0, round(seconds * 10))
    if tenths >= MINUTE:
        return minutes(math.ceil(tenths / 10)), ""
    return str(tenths // 10), f".{tenths % 10}"


def big(seconds: float, longest: float, width: int, height: int) -> str:
    """``seconds`` in blocks, as large as fits ``width`` by ``height`` cells; ``longest``: what it has to have room for.

    A digit has its place: the tenths, smaller, are at the right of the seconds whether they are shown or not.
    """
    lead, tenths = spelled(seconds)
    field = max(2, len(spelled(max(seconds, longest))[0]))
    lead = lead.rjust(field)
    colon = lead[-3:-2] if field > 3 else ""
    scale = LARGEST
    while scale > 1 and (_wide(field, scale) > width or HIGH * scale > 2 * height):
        scale -= 1
    small = max(1, scale * 2 // 3)
    left = pixels(lead[:-3] if field > 3 else lead, scale)
    if field > 3:  # a colon is narrower than a digit, and so is what stands for it below a minute
        dots = pixels(":", scale) if colon == ":" else ["." * scale] * HIGH * scale
        right = pixels(lead[-2:], scale)
        left = [("." * scale).join(parts) for parts in zip(left, dots, right, strict=True)]
    tail = pixels(tenths, small) if tenths else ["." * 5 * small] * HIGH * small
    blank = ["." * len(tail[0])] * (len(left) - len(tail))
    rows = [a + "." * scale + b for a, b in zip(left, [*blank, *tail], strict=True)]
    pad = " " * max(0, (width - len(rows[0])) // 2)
    above = max(0, (height - math.ceil(len(rows) / 2)) // 2)
    return "\n" * above + "\n".join(pad + row for row in cells(rows))


def _wide(field: int, scale: int) -> int:
    """Cells of a number with ``field`` signs before its tenths."""
    signs = 3 * (field - 1) + 1 + field - 1 if field > 3 else 3 * field + field - 1
    return (signs + 1) * scale + 5 * max(1, scale * 2 // 3)


class BigSeconds(Static):
    """Shows a time; ``longest`` is the longest that it will have to show."""

    def show(self, seconds: float, longest: float = 0.0) -> None:
        """``seconds`` in the place that ``longest`` needs."""
        self.update(big(seconds, longest, self.size.width or 40, self.size.height or 5), layout=False)

    def blank(self) -> None:
        """Nothing is shown."""
        self.update("", layout=False)
