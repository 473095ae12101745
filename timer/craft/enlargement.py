"""Magnification, distances, apertures; sizes of frames and sheets.

Thin-lens formulas, the lens' nodal separation ignored. All lengths are in mm.
Exposure against magnification holds for diffused light: L. P. Clerc, *Photography: Theory and Practice*,
"Practical Enlarging": exposures as (M + 1)^2. Distances: *The Book of Photography*, "Calculation of conjugate foci".
"""

import math
import re
from dataclasses import dataclass
from difflib import get_close_matches

MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4}

FRAMES = {
    # 135: ISO 1007; 120 frames as published lists give them (cameras differ: write your own in mm)
    "35mm": (24.0, 36.0), "135": (24.0, 36.0), "half frame": (18.0, 24.0),
    "6x4.5": (41.5, 56.0), "6x6": (56.0, 56.0), "6x7": (56.0, 70.0), "6x8": (56.0, 77.0), "6x9": (56.0, 84.0),
    "6x12": (56.0, 118.0), "6x17": (56.0, 168.0), "6x24": (56.0, 224.0),
}  # fmt: skip
SHEETS = {
    f"{a}x{b}": (float(a) * 25.4, float(b) * 25.4)
    for a, b in (
        ("3.5", "5"), ("4", "5"), ("4", "6"), ("5", "7"), ("6.5", "8.5"), ("7", "9.5"), ("8", "10"), ("9.5", "12"),
        ("10", "12"), ("11", "14"), ("12", "16"), ("16", "20"), ("20", "24"),
    )
}  # fmt: skip
"""Paper sizes that are named in inches without saying so."""

_SIZE = re.compile(r"\s*(\d+(?:\.\d+)?)\s*[x×*]\s*(\d+(?:\.\d+)?)\s*(mm|cm|in|inch|\")\s*", re.IGNORECASE)


@dataclass(frozen=True)
class Size:
    """A rectangle in mm, the shorter side first: which way it is turned does not matter to its exposure."""

    short: float
    long: float

    @property
    def area(self) -> float:
        """Square mm."""
        return self.short * self.long

    def inside(self, border: float) -> "Size":
        """What a ``border`` of so many mm all round leaves. ValueError when it leaves nothing."""
        left = Size(self.short - 2 * border, self.long - 2 * border)
        if border < 0 or left.short <= 0:
            raise ValueError(f"a border of {border:g} mm leaves nothing of a sheet {self.short:g} mm wide")
        return left


def parse_size(text: str, names: dict[str, tuple[float, float]]) -> Size:
    """``24x36mm``, ``30x40cm``, ``8x10in``, or one of ``names``. ValueError with a sentence for anything else."""
    plain = text.strip().lower()
    if plain in names:
        return Size(*sorted(names[plain]))
    found = _SIZE.fullmatch(plain)
    if found:
        unit = MM_PER["in" if found[3] in ("inch", '"') else found[3]]
        one, other = float(found[1]) * unit, float(found[2]) * unit
        if not (min(one, other) >= 1 and max(one, other) <= 3000):
            raise ValueError(f"{text!r} is not a size for a print or a negative; sides are 1 mm to 3 m")
        return Size(min(one, other), max(one, other))
    near = get_close_matches(plain, names, n=1, cutoff=0.7)
    hint = (
        f"did you mean {near[0]!r}?"
        if near
        else f"write it with its unit, like 24x36mm, 30x40cm or 8x10in; by name: {', '.join(names)}"
    )
    raise ValueError(f"{text!r} is not a size; {hint}")


def parse_frame(text: str) -> Size:
    """A negative's size: ``24x36mm``, or by name, ``6x7``. ValueError for anything else."""
    return parse_size(text, FRAMES)


def parse_sheet(text: str) -> Size:
    """A paper's size: ``8x10in``, or by name, ``8x10``. ValueError for anything else."""
    return parse_size(text, SHEETS)


def magnification(frame: Size, sheet: Size, *, fill: bool = False) -> float:
    """Image over negative: the whole negative on the sheet, or with ``fill`` the whole sheet covered."""
    ratios = (sheet.short / frame.short, sheet.long / frame.long)
    return max(ratios) if fill else min(ratios)


def image_on(frame: Size, sheet: Size, m: float) -> Size:
    """The part of the sheet that the image covers at magnification ``m``."""
    return Size(min(sheet.short, frame.short * m), min(sheet.long, frame.long * m))


def size_factor(old: float, new: float, exponent: float = 1.0) -> float:
    """Exposure at magnification ``new`` over that at ``old``: ((new + 1) / (old + 1))^2, to the head's ``exponent``.

    The exponent is 1 for diffused light; for a condenser head, or against your own prints, it is what you measured
    (``exponent_from``).
    """
    _positive(old, new)
    return float(((new + 1) / (old + 1)) ** (2 * exponent))


def exponent_from(old: float, new: float, ratio: float) -> float:
    """The exponent with which ``size_factor`` gives the ``ratio`` that was found between two magnifications."""
    _positive(old, new, ratio)
    if abs(math.log((new + 1) / (old + 1))) < 0.02:
        raise ValueError("a correction needs two sizes that are further apart")
    exponent = math.log(ratio) / (2 * math.log((new + 1) / (old + 1)))
    if not 0.3 <= exponent <= 2:
        raise ValueError(
            f"a ratio of {ratio:g} is too far from the {size_factor(old, new):.2f} that is expected; check both prints"
        )
    return exponent


def distance_factor(old: float, new: float) -> float:
    """The same by measured lens-to-paper distances: the inverse square. *Photo*, "Enlarging, part 2"."""
    _positive(old, new)
    return (new / old) ** 2


def lens_to_paper(focal: float, m: float) -> float:
    """f (M + 1), in the unit of ``focal``."""
    _positive(focal, m)
    return focal * (m + 1)


def negative_to_lens(focal: float, m: float) -> float:
    """f (1 + 1/M)."""
    _positive(focal, m)
    return focal * (1 + 1 / m)


def negative_to_paper(focal: float, m: float) -> float:
    """f (2 + M + 1/M)."""
    return lens_to_paper(focal, m) + negative_to_lens(focal, m)


def magnification_at(focal: float, to_paper: float) -> float:
    """Magnification from a measured lens-to-paper distance: v/f - 1."""
    _positive(focal, to_paper)
    if to_paper <= focal:
        raise ValueError(f"paper at {to_paper:g} mm is nearer to the lens than its focal length of {focal:g} mm")
    return to_paper / focal - 1


# ── aperture ─────────────────────────────────────────────────────────────────

_HALVES = {1.7: 1.5, 2.4: 2.5, 3.3: 3.5, 4.8: 4.5, 6.7: 5.5, 9.5: 6.5, 19.0: 8.5, 27.0: 9.5}
_THIRDS = (
    1.0, 1.1, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.5, 2.8, 3.2, 3.5, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0, 9.0, 10.0, 11.0,
    13.0, 14.0, 16.0, 18.0, 20.0, 22.0, 25.0, 29.0, 32.0, 36.0, 40.0, 45.0,
)  # fmt: skip


def aperture_stops(marked: float) -> float:
    """Stops from f/1 that a marked f-number stands for: f/11 is 7, not 6.92. Marks are thirds or halves of a stop.

    A number that is no mark is taken as it is.
    """
    _positive(marked)
    if marked in _HALVES:
        return _HALVES[marked]
    if marked in _THIRDS:
        return _THIRDS.index(marked) / 3
    return 2 * math.log2(marked)


def exact_aperture(marked: float) -> float:
    """The f-number that the mark stands for: 2^(stops/2)."""
    return math.exp2(aperture_stops(marked) / 2)


def aperture_factor(old: float, new: float) -> float:
    """Exposure at mark ``new`` over that at mark ``old``: a factor of two a stop."""
    return math.exp2(aperture_stops(new) - aperture_stops(old))


def blades(sheet: Size, image: Size) -> tuple[float, float]:
    """Even borders: the width of white, in mm, along the short and along the long side of the sheet."""
    return (sheet.short - image.short) / 2, (sheet.long - image.long) / 2


def _positive(*values: float) -> None:
    if not all(0 < value < math.inf for value in values):
        raise ValueError("sizes, distances, ratios and f-numbers must all be more than 0")
