"""Colours into densities, beside colour-science, which has the CIE's tables and ASTM E308's way with them."""

import math
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft import colorimetry
from timer.craft.colorimetry import D50, D65, densities, xyz_of_lab, xyz_of_spectrum

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it misses drawing programs
    import colour

NM = range(380, 731, 10)
CIE_NM = range(380, 781, 10)
OBSERVER = {nm: colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"][nm].tolist() for nm in CIE_NM}
LIGHT = {nm: float(colour.SDS_ILLUMINANTS["D50"][nm]) for nm in CIE_NM}


def dye_spectrum(cyan: float, magenta: float, yellow: float) -> list[float]:
    """Reflectance of three bell-shaped dyes on white; invented by us."""
    bells = [(655, 50, cyan), (545, 38, magenta), (445, 38, yellow)]
    return [10 ** -(0.08 + sum(a * math.exp(-0.5 * ((nm - p) / w) ** 2) for p, w, a in bells)) for nm in NM]


amount = st.floats(0, 1.5)


@given(amount, amount, amount)
def test_a_spectrum_as_colour_science_has_it(cyan: float, magenta: float, yellow: float) -> None:
    shares = dye_spectrum(cyan, magenta, yellow)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = colour.sd_to_XYZ(
            colour.SpectralDistribution(dict(zip(NM, shares, strict=True))),
            illuminant=colour.SDS_ILLUMINANTS["D50"],
        )
    ours = xyz_of_spectrum(list(NM), shares)
    for mine, other in zip(ours, theirs / 100, strict=True):
        assert math.log10(mine / other) == pytest.approx(0, abs=0.004)  # a densitometer's display shows hundredths


def test_the_table_is_the_cies() -> None:
    """CIE 015's 2 degree observer in six figures and its D50 in five, as colour-science has them at every wavelength."""
    assert [row[0] for row in colorimetry._CIE] == list(CIE_NM)
    for nm, x, y, z, d50 in colorimetry._CIE:
        assert (x, y, z) == pytest.approx(OBSERVER[nm], rel=4e-6, abs=1e-12)
        assert d50 == float(f"{LIGHT[nm]:.5g}")


def test_whites_and_bands_are_the_published_ones() -> None:
    observer = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    for name, white in (("D50", D50), ("D65", D65)):
        assert white == pytest.approx(colour.xy_to_XYZ(observer[name]), abs=0.0005)
    sharp = colour.CHROMATIC_ADAPTATION_TRANSFORMS["Sharp"]
    assert [list(row) for row in colorimetry.BANDS] == sharp.tolist()


@given(st.floats(1, 100), st.floats(-60, 60), st.floats(-60, 60))
def test_lab_as_colour_science_has_it(lightness: float, a: float, b: float) -> None:
    white = colour.XYZ_to_xy([*D50])
    assert xyz_of_lab(lightness, a, b) == pytest.approx(colour.Lab_to_XYZ([lightness, a, b], white), abs=2e-4)


@given(st.floats(5, 100))
def test_a_neutral_is_alike_in_all_bands(lightness: float) -> None:
    red, green, blue, visual = densities(xyz_of_lab(lightness, 0, 0))
    assert (red, green, blue) == pytest.approx((visual,) * 3, abs=1e-9)


def test_a_grey_card() -> None:
    """18 % everywhere is 0.745 in density, by whatever bands."""
    assert densities(xyz_of_spectrum(list(NM), [0.18] * len(NM))) == pytest.approx((-math.log10(0.18),) * 4, abs=3e-4)


def test_more_of_a_dye_is_most_in_its_own_band() -> None:
    grey = dye_spectrum(0.7, 0.53, 0.54)
    base = densities(xyz_of_spectrum(list(NM), grey))
    for band, more in enumerate(((0.9, 0.53, 0.54), (0.7, 0.73, 0.54), (0.7, 0.53, 0.74))):
        found = densities(xyz_of_spectrum(list(NM), dye_spectrum(*more)))
        steps = [(b or 9) - (a or 9) for a, b in zip(base[:3], found[:3], strict=True)]
        assert max(range(3), key=lambda n: steps[n]) == band and steps[band] > 1.3 * sorted(steps)[1]


coarse = st.lists(st.floats(0.01, 1), min_size=14, max_size=14)


@given(st.sampled_from([400, 413, 420]), coarse)
def test_between_its_values_it_is_a_line_and_its_ends_go_on(first: int, values: list[float]) -> None:
    """By numpy's own line between values, which goes on at its ends, with colour-science's tables, every 20 nm."""
    nm = [*range(first, 680, 20), 680]
    values = [*values, 0.5][: len(nm)]
    light = np.asarray([LIGHT[n] for n in CIE_NM])
    observer = np.asarray([OBSERVER[n] for n in CIE_NM])
    theirs = (light * np.interp(CIE_NM, nm, values)) @ observer / (light @ observer[:, 1])
    assert xyz_of_spectrum(nm, values) == pytest.approx(theirs.tolist(), rel=1e-5)


@pytest.mark.parametrize("nm", [[500, 400, 700], [400, 400, 700], [400, 420, 420.0, 700]])
def test_wavelengths_that_do_not_rise(nm: list[float]) -> None:
    with pytest.raises(ValueError, match="^its wavelengths do not rise$"):
        xyz_of_spectrum(nm, [0.5] * len(nm))


@pytest.mark.parametrize(
    "nm",
    [
        [], [450, 700], [400, 410, 700], list(range(400, 660, 10)), [420.5, *range(430, 681, 10)],
        [*range(420, 680, 10), 679.5], [*range(420, 501, 10), 520.5, *range(530, 681, 10)],
    ],
)  # fmt: skip
def test_a_spectrum_that_is_of_no_use(nm: list[float]) -> None:
    with pytest.raises(ValueError, match="^it should reach from 420 to 680 nm, 20 nm apart at the most$"):
        xyz_of_spectrum(nm, [0.5] * len(nm))


def test_the_least_of_a_spectrum_and_one_with_a_value_too_few() -> None:
    assert xyz_of_spectrum(range(420, 681, 20), [0.5] * 14)[1] == pytest.approx(0.5)
    with pytest.raises(ValueError, match="shorter"):
        xyz_of_spectrum(range(420, 681, 20), [0.5] * 13)


@pytest.mark.parametrize(
    ("lightness", "y"),
    [
        (5.0, 5.0 * 27 / 24389), (7.0, 7.0 * 27 / 24389), (7.6, 7.6 * 27 / 24389), (8.4, (24.4 / 116) ** 3), (9.52, 0.22**3), (100, 1.0),
    ],
)  # fmt: skip
def test_lightness_by_the_cies_two_formulas(lightness: float, y: float) -> None:
    """CIE 15: a cube above L* 8, below it a line, L* 27 / 24389."""
    assert xyz_of_lab(lightness, 0, 0) == pytest.approx([white * y for white in D50], rel=1e-6)


def test_four_densities_are_the_deepest() -> None:
    """A neutral's are alike to the last: blue too, whose white is 0.82."""
    x, y, z = (white * 1.1e-4 for white in D50)
    assert densities((x, y, z)) == pytest.approx((4 - math.log10(1.1),) * 4)
    with pytest.raises(ValueError, match="reflects nothing"):
        densities((0.9e-4, 0.9e-4, 0.9e-4))


def test_black_and_colours_without_a_band() -> None:
    with pytest.raises(ValueError, match="reflects nothing"):
        densities((0.0, 0.0, 0.0))
    red, _, blue, _ = densities((0.1, 0.4, 1.2))
    assert red is None and blue is not None
