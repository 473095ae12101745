"""Stops, seconds and fractions of a stop.

A stop is a doubling of light. Amounts are kept as exact fractions of a stop; seconds are derived from them.
"""

import math
import re
from fractions import Fraction

LIMIT = 12
"""Stops either way that can be meant in a darkroom: 12 is a factor of 4096."""

SPOKEN = (1, 2, 3, 4, 6, 8, 12)
"""Parts of a stop that printers speak of; any other amount is shown with two decimals."""

_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4",
    "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_MIXED = re.compile(r"([+-]?)(?:(\d+)[ +]+)?(\d+)/(\d+)", re.ASCII)
_PLAIN = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)", re.ASCII)
_LONGEST = 60
_WRITE = "write it like 1/3, 1 1/2 or 0.25"


def parse_stops(value: str | int | float | Fraction) -> Fraction:
    """Read an amount in stops: ``1/3``, ``-1/2``, ``1 1/3``, ``⅔``, ``0.25`` or a number.

    Decimals are taken as written (0.1 is one tenth). Raises ValueError with a sentence for anything else.
    """
    if isinstance(value, Fraction):
        return _bounded(value)
    text = str(value).strip().replace("−", "-")
    for sign, plain in _VULGAR.items():
        text = text.replace(sign, " " + plain)
    text = re.sub(r"^([+-]?)\s+", r"\1", text)
    if len(text) <= _LONGEST and _PLAIN.fullmatch(text):
        return _bounded(Fraction(text))
    mixed = _MIXED.fullmatch(text) if len(text) <= _LONGEST else None
    if not mixed or int(mixed[4]) == 0:
        raise ValueError(f"{value!r} is not an amount in stops; {_WRITE}")
    size = int(mixed[2] or 0) + Fraction(int(mixed[3]), int(mixed[4]))
    return _bounded(-size if mixed[1] == "-" else size)


def _bounded(stops: Fraction) -> Fraction:
    if abs(stops) > LIMIT:
        raise ValueError(f"{format_stops(stops)} stops is out of reach; use an amount between -{LIMIT} and {LIMIT}")
    return stops


def format_stops(stops: Fraction, *, signed: bool = False) -> str:
    """Write stops the way printers do: ``1 1/3``, ``-1/2``, else with two decimals; ``signed`` puts a plus on gains."""
    sign = "-" if stops < 0 else "+" if signed and stops > 0 else ""
    size = abs(stops)
    if size.denominator not in SPOKEN:
        near = f"{float(size):.2f}"
        return sign + (near if near != "0.00" else f"{size.numerator}/{size.denominator}")
    return sign + _mixed(size)


def _mixed(size: Fraction) -> str:
    whole, rest = divmod(size, 1)
    if not rest:
        return str(whole)
    part = f"{rest.numerator}/{rest.denominator}"
    return f"{whole} {part}" if whole else part


def exact_stops(stops: Fraction) -> str:
    """Written so that ``parse_stops`` reads back what it was: as ``format_stops``, or as a longer fraction."""
    if stops.denominator <= 48:
        return ("-" if stops < 0 else "") + _mixed(abs(stops))
    return f"{stops.numerator}/{stops.denominator}"


def stops_text(stops: float) -> str:
    """An amount that was calculated, signed: as a fraction where printers have one for it, else with two decimals, or one
    digit of what is smaller."""
    near = Fraction(round(stops * 24), 24)
    if abs(stops - near) < 1e-6 and near.denominator in SPOKEN:
        return format_stops(near, signed=True)
    decimals = 2 if abs(stops) >= 0.005 else -math.floor(math.log10(abs(stops)))
    return f"{stops:+.{decimals}f}"


def digits(number: float) -> str:
    """A time, or a factor, with three digits at least and one decimal at least: 0.156, 9.55, 21.7, 117.3."""
    if not 0 < abs(number) < math.inf:
        return f"{number:g}"
    return f"{number:.{max(1, 2 - math.floor(math.log10(abs(float(f'{number:.3g}')))))}f}"


def listed(seconds: float) -> str:
    """A time in a list: to a hundredth of a second, below one second with three digits: 12.70, 0.156, 0.0170."""
    return digits(seconds) if 0.001 <= seconds < 1 else f"{seconds:.2f}"


def at_a_glance(seconds: float) -> str:
    """A time where there is little room: to a tenth of a second, below one second as it is ``listed``."""
    return f"{seconds:.1f}" if seconds >= 1 else listed(seconds)


def factor(stops: Fraction | float) -> float:
    """The ratio of light that ``stops`` stand for: 2 to the power of stops."""
    return math.exp2(stops)


def hundredths(stops: float) -> Fraction:
    """Stops that were calculated, to a hundredth, as a recipe keeps them."""
    return Fraction(round(stops * 100), 100)


def minutes(seconds: int) -> str:
    """A long time as a clock has it: 2:05."""
    return f"{seconds // 60}:{seconds % 60:02}"


def told_apart(number: float, limit: float) -> str:
    """``number``, which is below ``limit`` or above it, in as few digits as show that: 0.0049 below 0.005, 120.04 above
    120."""
    for places in range(1, 16):
        text = f"{number:.{places}g}" if number < limit else f"{number:.{places}f}"
        if float(text) != limit and (float(text) < limit) == (number < limit):
            return text
    return repr(number)


def stops_between(first: float, second: float) -> float:
    """Stops from ``first`` to ``second`` (both seconds, or both any positive amount of light)."""
    if not (first > 0 and second > 0 and math.isfinite(first) and math.isfinite(second)):
        raise ValueError("stops compare two amounts of light that are both more than nothing")
    return math.log2(second / first)


def between(first: float, second: float, share: Fraction | float = 0.5) -> float:
    """Seconds ``share`` of the way from ``first`` to ``second``, counted in stops (a half is the geometric mean)."""
    return first * factor(float(share) * stops_between(first, second))
