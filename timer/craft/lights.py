"""Additive heads: a red, a green and a blue light, their balance, and what a change of it does to the time.

Printed at once (three lamps, each with a level) or in turn (three exposures through a red, a green and a blue filter,
each with its seconds). Nothing is filtered away, so a change of colour is a ratio of light: 10 CC are 10^0.1, since a CC
is a hundredth of a density. Less of all three alike is less light and nothing else: there is no neutral density to take
out of such a head.
"""

import math
import re
from dataclasses import dataclass

from timer.craft.filters import Pack

COLOURS = ("red", "green", "blue")
"""The parts of white light, in the order that everything of three has."""
SHARES = (0.35, 0.65, 0.0)
"""The shares of red, green and blue light in how dark a print looks: to change one by 10 CC and keep the print as dark, all
three are changed by its share of 10 CC the other way. Ours, from E-142's factors for cyan, magenta and yellow filters less
the surface of the sheet (yellow's 1.1), as shares of their density, made to add up to one."""
MAX_LIGHT, MAX_STOPS = 10_000.0, 30
"""The largest number, and on a scale in steps the most stops, that a light can be set to."""


@dataclass(frozen=True)
class Lights:
    """Settings as the head has them. ``per_stop``: how many of its steps make one stop; 0: light is in proportion
    (levels in per cent, or seconds)."""

    red: float
    green: float
    blue: float
    per_stop: float = 0.0

    def __str__(self) -> str:
        scale = f" at {self.per_stop:g} a stop" if self.per_stop else ""
        return " ".join(f"{name}{amount:g}" for name, amount in zip("RGB", amounts(self), strict=True)) + scale


def amounts(lights: Lights) -> tuple[float, float, float]:
    """Red, green and blue, in that order."""
    return lights.red, lights.green, lights.blue


_ONE = re.compile(r"([RGB])\s*(\d+(?:\.\d+)?)|(\d+(?:\.\d+)?)\s*([RGB])", re.I)
_ROW = re.compile(r"(\d+(?:\.\d+)?)\s*[-/]\s*(\d+(?:\.\d+)?)\s*[-/]\s*(\d+(?:\.\d+)?)")


_SCALE = re.compile(r"\s+AT\s+(\d+(?:\.\d+)?)\s+A\s+STOP$")


def parse_lights(text: str, per_stop: float = 0.0) -> Lights:
    """``R80 G60 B50``, ``80R 60G 50B``, or ``80-60-50`` in the order red-green-blue, and what ``str`` makes of lights.
    ValueError with a sentence."""
    plain = text.strip().replace(",", " ").upper()
    scale = _SCALE.search(plain)
    if scale:
        plain, per_stop = plain[: scale.start()], float(scale[1])
    row = _ROW.fullmatch(plain)
    if row:
        found = dict(zip("RGB", map(float, row.groups()), strict=True))
    else:
        parts = list(_ONE.finditer(plain))
        found = {(p[1] or p[4]): float(p[2] or p[3]) for p in parts}
        if set(found) != set("RGB") or len(parts) != 3 or _ONE.sub("", plain).strip():
            raise ValueError(f"{text!r} are not three lights; write each one, like 'R80 G60 B50' or '80-60-50' (R-G-B)")
    if not per_stop and min(found.values()) == 0:
        raise ValueError(f"{text!r}: a light at 0 is off, and what it would be with more or less of it cannot be said")
    return on_scale(Lights(found["R"], found["G"], found["B"], per_stop))


def on_scale(lights: Lights) -> Lights:
    """``lights``, if a head can have them. ValueError otherwise."""
    most = lights.per_stop * MAX_STOPS if lights.per_stop else MAX_LIGHT
    if lights.per_stop and lights.per_stop < 1:
        raise ValueError(f"{lights.per_stop:g} steps of a light's scale to a stop are too few; it is a number like 12")
    if max(amounts(lights)) > most:
        raise ValueError(f"{lights}: no head has a light of more than {min(most, MAX_LIGHT):g}")
    return lights


def within(lights: Lights, top: float = 0.0) -> Lights:
    """``lights``, if a head that ends at ``top`` (0: not known) has them. ValueError otherwise."""
    for name, amount in zip("RGB", amounts(lights), strict=True):
        if top and amount > top:
            raise ValueError(f"that needs {name}{amount:g}, and the head ends at {top:g}: less of all three, and more time")
    return lights


def light(lights: Lights) -> tuple[float, float, float]:
    """Red, green and blue light of a second, in proportion to each other and to any setting of the same head."""
    if lights.per_stop:
        red, green, blue = (math.exp2(amount / lights.per_stop) for amount in amounts(lights))
        return red, green, blue
    return amounts(lights)


def lights_change(old: Lights, new: Lights) -> float:
    """Time at ``new`` over that at ``old`` for a print as dark: each light's ratio, to the power of its share.

    ValueError when a light is off at one of them and not at the other, or when their scales differ: nothing says which
    level on the one is as bright as which on the other.
    """
    if old.per_stop != new.per_stop:
        raise ValueError(f"{old} and {new} are on two scales; write both on the scale that the head has")
    factor = 1.0
    for before, after, share in zip(light(old), light(new), SHARES, strict=True):
        if before == after:
            continue
        if not (before > 0 and after > 0):
            raise ValueError("a light that is off has no ratio to one that is on: say its settings with all three lit")
        factor *= float((before / after) ** share)
    return factor


def shifted(lights: Lights, change: Pack, top: float = 0.0) -> Lights:
    """``lights`` with the colour that ``change`` of a filter pack would give: less red for cyan, and so on.

    The lights that no change is asked of stay where they are, unless one would pass ``top`` (0: no end is known) or, on a
    scale in steps, go below 0: then all three are moved alike, and the time makes up for it (``lights_change``).
    ValueError when even that has no room.
    """
    moved = _moved(lights, change)
    if lights.per_stop:
        if top and max(moved) > top:
            moved = [amount - (max(moved) - top) for amount in moved]
        if min(moved) < 0:
            moved = [amount - min(moved) for amount in moved]
        if top and max(moved) > top + 1e-9:
            raise ValueError(f"the head's {top:g} steps are too few for that balance")
    elif top and max(moved) > top:
        moved = [amount * top / max(moved) for amount in moved]
    return _set(lights, moved)


def turned(lights: Lights, change: Pack, top: float = 0.0) -> Lights:
    """As ``shifted``, with the lights that no change is asked of left where they are. ValueError where that has no room."""
    moved = _moved(lights, change)
    for name, amount in zip("RGB", moved, strict=True):
        if amount < 0:
            raise ValueError(f"that needs a level of {amount:.1f} for {name}, and the head begins at 0")
    return within(_set(lights, moved), top)


def _moved(lights: Lights, change: Pack) -> list[float]:
    asked = (change.c, change.m, change.y)
    if lights.per_stop:
        step = lights.per_stop * math.log2(10) / 100
        return [amount - cc * step for amount, cc in zip(amounts(lights), asked, strict=True)]
    return [amount * 10 ** (-cc / 100) for amount, cc in zip(amounts(lights), asked, strict=True)]


def _set(lights: Lights, moved: list[float]) -> Lights:
    """To two decimals of a scale in steps, four digits of a level: finer than a hand sets them."""
    red, green, blue = (round(a, 2) if lights.per_stop else float(f"{a:.4g}") for a in moved)
    return on_scale(Lights(red, green, blue, lights.per_stop))


def as_pack(lights: Lights) -> Pack:
    """The filters, in CC, that would leave of equal lights what ``lights`` are: nothing from the strongest one."""
    shine = light(lights)
    c, m, y = (round(100 * math.log10(max(shine) / one), 1) if one else MAX_LIGHT for one in shine)
    return Pack(c, m, y)
