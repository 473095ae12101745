"""The arithmetic once more, as plainly as it can be written: numbers in, numbers out, nothing taken from the program.

Packs are (c, m, y), lights (r, g, b), sizes (short, long) in mm. Where the program is clever (logarithms, exact
fractions, one path for every head), this is not.
"""

import math
from collections.abc import Sequence

Stack = Sequence[tuple[str, float]]  # (ink, amount) each
Three = tuple[float, float, float]

TABLE: dict[str, dict[int, float]] = {  # KODAK PROFESSIONAL ULTRA III Paper, Publication E-142, p. 3
    "Y": {0: 1.0, 5: 1.1, 10: 1.1, 20: 1.1, 30: 1.1, 40: 1.1, 50: 1.1},
    "M": {0: 1.0, 5: 1.2, 10: 1.3, 20: 1.5, 30: 1.7, 40: 1.9, 50: 2.1},
    "C": {0: 1.0, 5: 1.1, 10: 1.2, 20: 1.3, 30: 1.4, 40: 1.5, 50: 1.6},
    "R": {0: 1.0, 5: 1.2, 10: 1.3, 20: 1.5, 30: 1.7, 40: 1.9, 50: 2.2},
    "G": {0: 1.0, 5: 1.1, 10: 1.2, 20: 1.3, 30: 1.4, 40: 1.5, 50: 1.7},
    "B": {0: 1.0, 5: 1.1, 10: 1.3, 20: 1.6, 30: 2.0, 40: 2.4, 50: 2.9},
}


def sheet(ink: str, amount: float) -> float:
    """Factor of one filter: whole sheets of 50, then one between two rows."""
    factor = 1.0
    while amount > 50:
        factor = factor * TABLE[ink][50]
        amount = amount - 50
    lower = 0
    for row in (5, 10, 20, 30, 40, 50):
        if amount <= row:
            part = (amount - lower) / (row - lower)
            return factor * math.pow(TABLE[ink][lower], 1 - part) * math.pow(TABLE[ink][row], part)
        lower = row
    raise AssertionError(amount)


def stack(sheets: Stack) -> float:
    """Factor of sheets [(ink, amount)]."""
    factor = 1.0
    for ink, amount in sheets:
        factor = factor * sheet(ink, amount)
    return factor


def cmy(sheets: Stack) -> Three:
    c = m = y = 0.0
    for ink, amount in sheets:
        if ink in "CGB":
            c = c + amount
        if ink in "MRB":
            m = m + amount
        if ink in "YRG":
            y = y + amount
    return c, m, y


def no_neutral(pack: Sequence[float]) -> Three:
    least = min(pack)
    c, m, y = (round(amount - least, 6) for amount in pack)
    return c, m, y


def filter_time(head: str, pack: Sequence[float], sheets: Stack | None = None) -> float:
    """How long a print takes through ``pack``, against no filter at all."""
    c, m, y = pack
    if min(pack) < 0:
        c, m, y = c - min(pack), m - min(pack), y - min(pack)
        sheets = None
    if head == "cp":
        return stack(sheets or [("C", c), ("M", m), ("Y", y)])
    return math.pow(1.2, m / 20) * sheet("C", c)


# what takes a cast out of a print on negative-positive paper: 1 is more of it
TAKES_OUT = {
    "red": (0, 1, 1), "green": (0, -1, 0), "blue": (0, 0, -1), "cyan": (0, -1, -1), "magenta": (0, 1, 0), "yellow": (0, 0, 1),
}  # fmt: skip


def cast(
    head: str, name: str, amount: float, pack: Sequence[float], seconds: float, sheets: Stack | None = None
) -> tuple[Three, float]:
    """(new pack, its time) for a print that is too ``name``."""
    way = TAKES_OUT[name]
    new = no_neutral([pack[n] + way[n] * amount for n in range(3)])
    return new, seconds * filter_time(head, new) / filter_time(head, pack, sheets)


def lights_cast(
    name: str, amount: float, lights: Sequence[float], seconds: float, per_stop: float = 0.0
) -> tuple[list[float], float]:
    """(new lights, new time): each light less by its density, and the density of the print made good by the time."""
    way = TAKES_OUT[name]
    new: list[float] = []
    logs = 0.0
    for n in range(3):
        density = way[n] * amount / 100
        weight = (0.35, 0.65, 0.0)[n]
        if per_stop:
            new.append(lights[n] - density / math.log10(2) * per_stop)
        else:
            new.append(lights[n] / math.pow(10, density))
        logs = logs + weight * density
    if per_stop and min(new) < 0:
        lift = -min(new)
        new = [level + lift for level in new]
        logs = logs - lift / per_stop * math.log10(2)
    return new, seconds * math.pow(10, logs)


# ── sizes ────────────────────────────────────────────────────────────────────

FRAME_MM = {"24x36mm": (24, 36), "6x6": (56, 56), "6x7": (56, 70), "6x9": (56, 84)}
SHEET_MM = {"8x10in": (203.2, 254), "11x14in": (279.4, 355.6), "12x16in": (304.8, 406.4), "30x40cm": (300, 400)}
STOPS_OF = {2.8: 3, 3.5: 11 / 3, 4: 4, 5.6: 5, 6.7: 5.5, 8: 6, 9: 19 / 3, 11: 7, 16: 8, 22: 9}


def times_larger(frame: str, paper: str, fill: bool, border: float) -> float:
    short, long = SHEET_MM[paper][0] - 2 * border, SHEET_MM[paper][1] - 2 * border
    one, other = short / FRAME_MM[frame][0], long / FRAME_MM[frame][1]
    if fill:
        return one if one > other else other
    return one if one < other else other


def size_time(old_m: float, new_m: float, exponent: float = 1.0) -> float:
    return math.pow((new_m + 1) * (new_m + 1) / ((old_m + 1) * (old_m + 1)), exponent)


def distance_time(old_mm: float, new_mm: float, old_focal: float, new_focal: float, exponent: float = 1.0) -> float:
    return math.pow((new_mm * old_focal) / (old_mm * new_focal), 2 * exponent)


def aperture_time(old: float, new: float) -> float:
    return math.pow(2, STOPS_OF[new] - STOPS_OF[old])


# ── paper ────────────────────────────────────────────────────────────────────


def speed_time(old: float, new: float) -> float:
    return (1000 / new) / (1000 / old)


def grade_time(old: str, new: str) -> float:
    hard = {"4": 2.0, "4 1/2": 2.0, "5": 2.0}
    return hard.get(new, 1.0) / hard.get(old, 1.0)


def grade(r: float) -> int | None:
    if r < 35 or r > 170:
        return None
    for name, upper in ((6, 50), (5, 65), (4, 80), (3, 95), (2, 115), (1, 140)):
        if r < upper:
            return name
    return 0


def dried(seconds: float, percent: float) -> float:
    return seconds - seconds * percent / 100


def burnt(base: float, stops: float) -> float:
    light = base
    while stops >= 1:
        light, stops = light * 2, stops - 1
    return light * math.pow(2, stops) - base


def held(base: float, stops: float) -> float:
    return base - base / math.pow(2, stops)
