"""What was read, what is aimed at and what is expected, as marks on a scale of density for each colour."""

import math
from collections.abc import Sequence

from timer.craft.layers import LAYERS
from timer.craft.solve import Reading
from timer.measure.advise import Advice

AIM, SEVERAL, BEFORE = "A", "*", "o"
LEGEND = f"{AIM} aim, ( ) next sheet; patches by number, {SEVERAL} several, {BEFORE} other readings"


def scales(advice: Advice, readings: Sequence[Reading], names: Sequence[str], width: int) -> list[str]:
    """Red, green and blue, a line of ``width`` characters each, with the same ends in tenths of density; the next sheet is
    expected between the brackets, twice its standard deviation to each side."""
    then = advice.then
    expected = [(float(d - 2 * e), float(d + 2 * e)) for d, e in zip(then.density, then.error, strict=True)]
    marks = [*(r.density for r in readings), advice.aim, *zip(*expected, strict=True)]
    low = math.floor(round(10 * min(map(min, marks)), 6)) / 10
    high = max(math.ceil(round(10 * max(map(max, marks)), 6)) / 10, low + 0.1)
    last = max((r.sheet for r in readings), default=0)
    lines = []
    for band, layer in enumerate(LAYERS):
        left, right = f"{layer:5} {low:.1f} ", f" {high:.1f}"
        most = width - len(left) - len(right) - 1
        cells = ["-"] * (most + 1)
        for density, bracket in zip(expected[band], "()", strict=True):
            cells[_at(density, low, high, most)] = bracket
        read: dict[int, set[str]] = {}
        for reading, name in zip(readings, names, strict=True):
            mark = name[0] if reading.sheet == last and name[:1].isdigit() and not name[1:2].isdigit() else BEFORE
            read.setdefault(_at(reading.density[band], low, high, most), set()).add(mark)
        for place, found in read.items():
            cells[place] = found.pop() if len(found) == 1 else SEVERAL
        cells[_at(advice.aim[band], low, high, most)] = AIM
        lines.append(left + "".join(cells) + right)
    return lines


def _at(density: float, low: float, high: float, most: int) -> int:
    return round((density - low) / (high - low) * most)
