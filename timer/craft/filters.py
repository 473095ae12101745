"""Filter packs: cyan, magenta and yellow in CC units, their algebra, and what they do to the time.

Amounts are on the scale of the filter sheets or of the head's dial; dials differ between heads. Neutral density in a
pack takes light like all else in it: a time belongs to the pack as it stands in the head, so the neutral may only be
taken out (``resolve``) on the way to a new pack, never from the one that a time is known for.
Factors: KODAK PROFESSIONAL ULTRA III Paper, Publication E-142, page 3. Algebra: US Army subcourse SS0514 p. 5-6 and
NAVEDTRA 14209, "Neutral density".
"""

import math
import re
from dataclasses import dataclass

MOST = 250.0
"""The most CC of one colour that can be written; real heads end sooner."""

_OF: dict[str, tuple[int, int, int]] = {
    "C": (1, 0, 0), "M": (0, 1, 0), "Y": (0, 0, 1), "R": (0, 1, 1), "G": (1, 0, 1), "B": (1, 1, 0),
}  # fmt: skip
_ROWS = (0.0, 5.0, 10.0, 20.0, 30.0, 40.0, 50.0)
_FACTORS: dict[str, tuple[float, ...]] = {
    "Y": (1.0, 1.1, 1.1, 1.1, 1.1, 1.1, 1.1),
    "M": (1.0, 1.2, 1.3, 1.5, 1.7, 1.9, 2.1),
    "C": (1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6),
    "R": (1.0, 1.2, 1.3, 1.5, 1.7, 1.9, 2.2),
    "G": (1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.7),
    "B": (1.0, 1.1, 1.3, 1.6, 2.0, 2.4, 2.9),
}


@dataclass(frozen=True)
class Pack:
    """C, M and Y; in the middle of a calculation an amount may be below 0."""

    c: float = 0.0
    m: float = 0.0
    y: float = 0.0

    def __add__(self, other: "Pack") -> "Pack":
        return Pack(self.c + other.c, self.m + other.m, self.y + other.y)

    def __sub__(self, other: "Pack") -> "Pack":
        return Pack(self.c - other.c, self.m - other.m, self.y - other.y)

    def __str__(self) -> str:
        return (
            " ".join(f"{amount:g}{ink}" for ink, amount in zip("CMY", (self.c, self.m, self.y), strict=True) if amount)
            or "0"
        )


def cmy(pack: Pack) -> tuple[float, float, float]:
    """Cyan, magenta and yellow, in that order."""
    return pack.c, pack.m, pack.y


@dataclass(frozen=True)
class Sheet:
    """One physical filter: ``amount`` of ``ink``, which may be R, G or B."""

    ink: str
    amount: float


_PART = re.compile(
    r"(?P<sign>[+-]?)\s*(?:(?P<amount>\d+(?:\.\d+)?)\s*(?P<ink>[CMYRGB])|(?P<ink2>[CMYRGB])\s*(?P<amount2>\d+(?:\.\d+)?))",
    re.I,
)
_DIALS = re.compile(r"(\d+(?:\.\d+)?)\s*[-/]\s*(\d+(?:\.\d+)?)\s*[-/]\s*(\d+(?:\.\d+)?)")


def parse_sheets(text: str) -> tuple[Sheet, ...]:
    """Filters as written: ``60M 45Y``, ``C0 M60 Y45``, ``60M+45Y``, ``20R 10Y``, ``5M -10M``, or dials ``0-60-45``
    in the order C-M-Y. ValueError with a sentence for anything else."""
    plain = text.strip().replace("−", "-").replace(",", " ")
    dials = _DIALS.fullmatch(plain)
    if dials:
        sheets = [Sheet(ink, float(dials[n])) for n, ink in enumerate("CMY", 1)]
    else:
        sheets, at = [], 0
        plain = plain.upper()
        if plain == "0":
            return ()
        while at < len(plain):
            part = _PART.match(plain, at)
            if not part:
                raise ValueError(
                    f"{text!r} is not a filter pack; write it like '60M 45Y', 'C0 M60 Y45' or '0-60-45' (C-M-Y)"
                )
            amount = float(part["amount"] or part["amount2"])
            sheets.append(Sheet(part["ink"] or part["ink2"], -amount if part["sign"] == "-" else amount))
            at = part.end()
            while at < len(plain) and plain[at] == " ":
                at += 1
        if not sheets:
            raise ValueError("a filter pack is empty; write it like '60M 45Y', or 0 for none")
    if any(abs(sheet.amount) > MOST for sheet in sheets):
        raise ValueError(f"{text!r} has more than {MOST:g} units of a filter; no head has that")
    return tuple(sheets)


def pack_of(sheets: tuple[Sheet, ...]) -> Pack:
    """The sum of ``sheets`` in C, M and Y (R, G and B count as pairs), its neutral density left in."""
    total = Pack()
    for sheet in sheets:
        c, m, y = _OF[sheet.ink]
        total += Pack(c * sheet.amount, m * sheet.amount, y * sheet.amount)
    return total


def parse_pack(text: str) -> Pack:
    """``60M 45Y``, or 0 for none, as C, M and Y in CC. ValueError for anything else."""
    return pack_of(parse_sheets(text))


def resolve(pack: Pack) -> tuple[Pack, float]:
    """The same colour with no neutral density and nothing below zero: at most two inks. And the neutral taken out
    (below zero: put in). 46Y 38M 12C is 34Y 26M and 12; -5M is 5C 5Y and -5."""
    neutral = min(pack.c, pack.m, pack.y)
    left = pack - Pack(neutral, neutral, neutral)
    return Pack(*(round(amount, 6) for amount in (left.c, left.m, left.y))), round(neutral, 6)


def lifted(pack: Pack) -> Pack:
    """The same colour with nothing below zero: its neutral density stays, so it is a pack that light can go through."""
    least = min(pack.c, pack.m, pack.y)
    return pack - Pack(least, least, least) if least < 0 else pack


def within(pack: Pack, top: float = MOST) -> Pack:
    """``pack``, if a head that ends at ``top`` has it. ValueError otherwise."""
    for ink, amount in zip("CMY", (pack.c, pack.m, pack.y), strict=True):
        if amount > top:
            raise ValueError(f"that needs {amount:g}{ink}, and the head ends at {top:g}: no pack for it on this head")
    return pack


# ── time ─────────────────────────────────────────────────────────────────────


def gel_factor(ink: str, amount: float) -> tuple[float, bool]:
    """Factor of one filter of ``amount``, and whether it stands between rows of the table.

    Between rows the factor is interpolated in log exposure; above 50 the filter is taken as sheets of 50 and one more.
    """
    if amount < 0:
        raise ValueError(f"{amount:g}{ink} is less than no filter")
    times = 1.0
    while amount > _ROWS[-1]:
        times *= _FACTORS[ink][-1]
        amount -= _ROWS[-1]
    if amount in _ROWS:
        return times * _FACTORS[ink][_ROWS.index(amount)], False
    above = next(n for n, row in enumerate(_ROWS) if row > amount)
    share = (amount - _ROWS[above - 1]) / (_ROWS[above] - _ROWS[above - 1])
    low, high = _FACTORS[ink][above - 1], _FACTORS[ink][above]
    return times * math.exp((1 - share) * math.log(low) + share * math.log(high)), True


def as_sheets(pack: Pack) -> tuple[Sheet, ...]:
    """One filter an ink; ``pack`` has nothing below zero."""
    return tuple(Sheet(ink, a) for ink, a in zip("CMY", (pack.c, pack.m, pack.y), strict=True) if a)


def gel_change(old: tuple[Sheet, ...], new: tuple[Sheet, ...]) -> tuple[float, bool]:
    """Time with the filters ``new`` over that with ``old``, factors multiplied and divided; whether interpolated."""
    factor, between = 1.0, False
    for sheets, power in ((old, -1), (new, 1)):
        for sheet in sheets:
            one, interpolated = gel_factor(sheet.ink, sheet.amount)
            factor *= one**power
            between = between or interpolated
    return factor, between


DIAL_20M = 1.2
"""Time with 20M more on a dichroic head: E-142's own example of its 1 % a unit."""


def dial_change(old: Pack, new: Pack) -> tuple[float, bool]:
    """The same for a dichroic head: a fifth more for 20 units of magenta, nothing for yellow, the table for cyan.

    E-142 says "one percent for every unit" and gives +20M as +20 %. As a percentage of the last time that would depend
    on the way there (two steps of 10 are 21 %); as a power of its example it does not, and a decrease undoes an
    increase.
    """
    before, after = lifted(old), lifted(new)
    cyan_before, between = gel_factor("C", before.c)
    cyan_after, also = gel_factor("C", after.c)
    return float(DIAL_20M ** ((after.m - before.m) / 20)) * cyan_after / cyan_before, between or also


# ── casts ────────────────────────────────────────────────────────────────────

_ADD: dict[str, Pack] = {
    # Univ. of South Florida, Color printing basics, for negative-positive paper; cyan by the algebra
    "yellow": Pack(y=1), "magenta": Pack(m=1), "red": Pack(m=1, y=1),
    "blue": Pack(y=-1), "green": Pack(m=-1), "cyan": Pack(m=-1, y=-1),
}  # fmt: skip
CASTS = ("red", "yellow", "green", "cyan", "blue", "magenta")
AMOUNTS = {"trace": 2.5, "slight": 5.0, "clear": 10.0, "strong": 20.0}
"""CC of pack change for how a cast looks; common practice, no source. Half the viewing filter is better."""


def correction(cast: str, amount: float, *, reversal: bool = False) -> Pack:
    """The pack change that takes ``cast`` out of the print: for negative-positive paper more of the same colour.

    ``reversal`` (prints from slides) turns it round.
    """
    unit = _ADD[cast]
    size = -amount if reversal else amount
    return Pack(unit.c * size, unit.m * size, unit.y * size)


def from_viewing(viewing: float) -> float:
    """Pack change for the viewing filter that makes the lighter middle tones look right: half. NAVEDTRA 14209."""
    return viewing / 2
