"""Densities of what a colorimeter or spectrophotometer reads: not a densitometer's, but alike for a neutral.

ISO 5-3's weights of Status A are not to be had freely, so a spectrum goes to X, Y, Z as a colorimeter's reading does, and
from there to three bands. X, Y, Z are here of 1 for the perfect diffuser's Y.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

Three = tuple[float, float, float]
Densities = tuple[float | None, float | None, float | None, float]
"""Red, green, blue, visual; None for a band that so strong a colour has no light in."""

D50: Three = (0.9642, 1.0, 0.8249)
D65: Three = (0.95047, 1.0, 1.08883)
"""White: ICC's own for D50; ASTM E308 for D65."""
BANDS = ((1.2694, -0.0988, -0.1706), (-0.8364, 1.8006, 0.0357), (0.0297, -0.0315, 1.0018))
"""X, Y, Z into red, green, blue: the sharp transform of Finlayson and Suesstrunk, "Spectral sharpening and the Bradford
transform", 2000. Of the published ones it comes nearest to Status A (``docs/method.md``)."""
DEEPEST = 4.0
"""The most density that is taken for one."""

# CIE 1931 2 degree observer and illuminant D50, every 10 nm (CIE 015): nm, x, y, z, D50.
_CIE = (
    (380, 0.001368, 3.9e-05, 0.00645, 24.488),
    (390, 0.004243, 0.00012, 0.02005, 29.871),
    (400, 0.01431, 0.000396, 0.06785, 49.308),
    (410, 0.04351, 0.00121, 0.2074, 56.513),
    (420, 0.13438, 0.004, 0.6456, 60.034),
    (430, 0.2839, 0.0116, 1.3856, 57.818),
    (440, 0.34828, 0.023, 1.74706, 74.825),
    (450, 0.3362, 0.038, 1.77211, 87.247),
    (460, 0.2908, 0.06, 1.6692, 90.612),
    (470, 0.19536, 0.09098, 1.28764, 91.368),
    (480, 0.09564, 0.13902, 0.81295, 95.109),
    (490, 0.03201, 0.20802, 0.46518, 91.963),
    (500, 0.0049, 0.323, 0.272, 95.724),
    (510, 0.0093, 0.503, 0.1582, 96.613),
    (520, 0.06327, 0.71, 0.07825, 97.129),
    (530, 0.1655, 0.862, 0.04216, 102.1),
    (540, 0.2904, 0.954, 0.0203, 100.75),
    (550, 0.43345, 0.99495, 0.00875, 102.32),
    (560, 0.5945, 0.995, 0.0039, 100),
    (570, 0.7621, 0.952, 0.0021, 97.735),
    (580, 0.9163, 0.87, 0.00165, 98.918),
    (590, 1.0263, 0.757, 0.0011, 93.499),
    (600, 1.0622, 0.631, 0.0008, 97.688),
    (610, 1.0026, 0.503, 0.00034, 99.269),
    (620, 0.85445, 0.381, 0.00019, 99.042),
    (630, 0.6424, 0.265, 5e-05, 95.722),
    (640, 0.4479, 0.175, 2e-05, 98.857),
    (650, 0.2835, 0.107, 0, 95.667),
    (660, 0.1649, 0.061, 0, 98.19),
    (670, 0.0874, 0.032, 0, 103),
    (680, 0.04677, 0.017, 0, 99.133),
    (690, 0.0227, 0.00821, 0, 87.381),
    (700, 0.0113592, 0.004102, 0, 91.604),
    (710, 0.00579035, 0.002091, 0, 92.889),
    (720, 0.00289933, 0.001047, 0, 76.854),
    (730, 0.00143997, 0.00052, 0, 86.511),
    (740, 0.000690079, 0.0002492, 0, 92.58),
    (750, 0.000332301, 0.00012, 0, 78.23),
    (760, 0.000166151, 6e-05, 0, 57.692),
    (770, 8.30753e-05, 3e-05, 0, 82.923),
    (780, 4.15099e-05, 1.499e-05, 0, 78.274),
)  # fmt: skip
SHORTEST, LONGEST, WIDEST = 420.0, 680.0, 20.0
"""nm: what a spectrum must reach over, and the most that may lie between two of its values."""


def xyz_of_spectrum(nm: Sequence[float], reflectance: Sequence[float]) -> Three:
    """X, Y, Z under D50 of a ``reflectance`` (1: all) at wavelengths ``nm``; its ends go on as they are (ASTM E308).

    ValueError when the wavelengths do not rise, are too far apart or do not reach over what the eye sees.
    """
    if any(b <= a for a, b in pairwise(nm)):
        raise ValueError("its wavelengths do not rise")
    if not nm or nm[0] > SHORTEST or nm[-1] < LONGEST or max(b - a for a, b in pairwise(nm)) > WIDEST:
        raise ValueError(f"it should reach from {SHORTEST:g} to {LONGEST:g} nm, {WIDEST:g} nm apart at the most")
    sums, white = [0.0, 0.0, 0.0], 0.0
    for wavelength, x, y, z, light in _CIE:
        share = light * _at(nm, reflectance, wavelength)
        sums = [total + share * each for total, each in zip(sums, (x, y, z), strict=True)]
        white += light * y
    return sums[0] / white, sums[1] / white, sums[2] / white


def _at(nm: Sequence[float], values: Sequence[float], wavelength: float) -> float:
    if wavelength <= nm[0]:
        return values[0]
    for (a, low), (b, high) in pairwise(zip(nm, values, strict=True)):
        if wavelength <= b:
            return low + (high - low) * (wavelength - a) / (b - a)
    return values[-1]


def xyz_of_lab(lightness: float, a: float, b: float) -> Three:
    """X, Y, Z under D50 of L*, a*, b* (CIE 1976)."""
    fy = (lightness + 16) / 116
    x, y, z = (_inverse(f) * white for f, white in zip((fy + a / 500, fy, fy - b / 200), D50, strict=True))
    return x, y, z


def _inverse(f: float) -> float:
    return f**3 if f > 6 / 29 else 3 * (6 / 29) ** 2 * (f - 4 / 29)


def densities(xyz: Three, white: Three = D50) -> Densities:
    """-log10 of what the sample gives in each band beside what the perfect diffuser does; alike for any neutral.

    ValueError when it is black beyond ``DEEPEST``.
    """
    visual = _density(xyz[1], white[1])
    if visual is None:
        raise ValueError("it reflects nothing")
    red, green, blue = (_density(_band(row, xyz), _band(row, white)) for row in BANDS)
    return red, green, blue, visual


def _band(row: Three, xyz: Three) -> float:
    return sum(a * b for a, b in zip(row, xyz, strict=True))


def _density(part: float, whole: float) -> float | None:
    return -math.log10(part / whole) if part / whole > 10**-DEEPEST else None
