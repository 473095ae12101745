"""Magnification, distances and apertures against handbooks. Sources beside each check."""

import math

import pytest

from timer.craft import enlargement as e

INF = math.inf


def test_clerc_optimum_exposures() -> None:
    # L. P. Clerc, Photography: Theory and Practice, "Practical Enlarging", p. 765: 2, 3, 4, 5 times are as 9, 16, 25, 36
    assert [e.size_factor(2, m) * 9 for m in (2, 3, 4, 5)] == pytest.approx([9, 16, 25, 36])


def test_four_by_five_to_sixteen_by_twenty() -> None:
    # qeeebo.com Q&A on enlargement: M 2 to 4, x 2.78; and by image distance 450 to 750 mm the same (f = 150 mm)
    assert e.size_factor(2, 4) == pytest.approx(2.78, abs=0.005)
    assert e.distance_factor(450, 750) == pytest.approx(2.78, abs=0.005)
    assert (e.magnification_at(150, 450), e.magnification_at(150, 750)) == pytest.approx((2, 4))
    frame = e.parse_frame("101.6x127mm")
    assert e.magnification(frame, e.parse_sheet("8x10in")) == pytest.approx(2)
    assert e.magnification(frame, e.parse_sheet("16x20in")) == pytest.approx(4)


def test_inverse_square() -> None:
    # Photo, "Enlarging, part 2", chestofbooks.com: 12 in to 20 in as 144 to 400
    assert e.distance_factor(12, 20) == pytest.approx(400 / 144)
    # Dictionary of Photography, rodsmith.org.uk: at 12, 24, 48 in 45, 180, 720 s (its third, 395 for 405, is a misprint)
    assert [45 * e.distance_factor(12, d) for d in (12, 24, 48)] == pytest.approx([45, 180, 720])


@pytest.mark.parametrize(
    ("focal", "m", "to_paper", "to_negative"),
    [
        (7, 2, 21, 10.5),  # Sinclair Handbook of Photography, "Useful tables for enlarging"
        (8, 4, 40, 10),  # The Book of Photography, "Calculation of conjugate foci" (scan repaired)
        (12, 1 / 12, 13, 156),  # the same: a yard to 3 in
        (6, 4, 30, 7.5),  # British Journal Almanac table
    ],
)
def test_worked_distances(focal: float, m: float, to_paper: float, to_negative: float) -> None:
    assert e.lens_to_paper(focal, m) == pytest.approx(to_paper)
    assert e.negative_to_lens(focal, m) == pytest.approx(to_negative)
    assert e.negative_to_paper(focal, m) == pytest.approx(to_paper + to_negative)
    assert e.negative_to_paper(focal, m) == pytest.approx(focal * (2 + m + 1 / m))


# British Journal of Photography Almanac conjugate table, in J. A. Tennant, Bromide Printing and Enlarging. Inches:
# lens to paper / lens to negative, 1 to 8 times. None: a printed cell that is a misprint or coarse (seven of them).
ALMANAC: dict[float, list[tuple[float, float] | None]] = {
    3: [(6, 6), (9, 4.5), (12, 4), (15, 3.75), (18, 3 + 3 / 5), (21, 3.5), (24, 3 + 3 / 7), (27, 3 + 3 / 8)],
    3.5: [(7, 7), (10.5, 5.25), (14, 4 + 2 / 3), None, (21, 4 + 1 / 5), (24.5, 4 + 1 / 12), (28, 4), None],
    4: [(8, 8), (12, 6), (16, 5 + 1 / 3), (20, 5), (24, 4 + 4 / 5), (28, 4 + 2 / 3), (32, 4 + 4 / 7), (36, 4.5)],
    4.5: [(9, 9), (13.5, 6.75), (18, 6), None, (27, 5 + 2 / 5), (31.5, 5.25), (36, 5 + 1 / 7), (40.5, 5 + 1 / 16)],
    5: [(10, 10), (15, 7.5), (20, 6 + 2 / 3), (25, 6.25), (30, 6), (35, 5 + 5 / 6), (40, 5 + 5 / 7), (45, 5 + 5 / 8)],
    5.5: [(11, 11), (16.5, 8.25), (22, 7 + 1 / 3), None, None, (38.5, 6 + 5 / 12), (44, 6 + 2 / 7), None],
    6: [(12, 12), (18, 9), (24, 8), (30, 7.5), (36, 7 + 1 / 5), (42, 7), (48, 6 + 6 / 7), (54, 6.75)],
    7: [(14, 14), (21, 10.5), (28, 9 + 1 / 3), (35, 8.75), (42, 8 + 2 / 5), (49, 8 + 1 / 6), (56, 8), (63, 7 + 7 / 8)],
    8: [(16, 16), (24, 12), (32, 10 + 2 / 3), (40, 10), (48, 9 + 3 / 5), (56, 9 + 1 / 3), (64, 9 + 1 / 7), (72, 9)],
    9: [(18, 18), (27, 13.5), (36, 12), None, (54, 10 + 4 / 5), (63, 10.5), (72, 10 + 2 / 7), (81, 10 + 1 / 8)],
}  # fmt: skip


def test_the_almanacs_conjugate_table() -> None:
    checked = 0
    for focal, row in ALMANAC.items():
        for m, cell in enumerate(row, 1):
            if cell:
                assert e.lens_to_paper(focal, m) == pytest.approx(cell[0])
                assert e.negative_to_lens(focal, m) == pytest.approx(cell[1])
                checked += 1
    assert checked == 73


@pytest.mark.parametrize(
    ("m", "distance", "exposure", "relative"),
    [
        # Practical Photography vol. 2, par. 794-797, proportionate exposures; relative values are truncated in print
        (1 / 30, 1 + 1 / 30, 1.07, 0.27), (1 / 20, 1 + 1 / 20, 1.10, 0.28), (1 / 10, 1.1, 1.21, 0.30),
        (1 / 8, 1.125, 1.27, 0.31), (1 / 6, 1 + 1 / 6, 1.36, 0.34), (1 / 4, 1.25, 1.56, 0.39),
        (1 / 2, 1.5, 2.25, 0.56), (3 / 4, 1.75, 3.06, 0.76), (1, 2, 4, 1), (2, 3, 9, 2.25), (3, 4, 16, 4),
    ],
)  # fmt: skip
def test_proportionate_exposures(m: float, distance: float, exposure: float, relative: float) -> None:
    assert e.lens_to_paper(1, m) == pytest.approx(distance)
    assert (m + 1) ** 2 == pytest.approx(exposure, abs=0.01)
    assert e.size_factor(1, m) == pytest.approx(relative, abs=0.01)


def test_f_numbers() -> None:
    # EXIF 2.2 series, and exact values as published: f/3.5 3.563595, f/4.5 4.489848, f/5 5.039684, f/5.6 5.656854
    for marked, exact in (
        (3.5, 3.563595),
        (4.5, 4.489848),
        (5, 5.039684),
        (5.6, 5.656854),
        (11, 11.313708),
        (22, 22.627417),
    ):
        assert e.exact_aperture(marked) == pytest.approx(exact, rel=1e-6)
    whole = (1, 1.4, 2, 2.8, 4, 5.6, 8, 11, 16, 22, 32)
    assert [e.aperture_stops(n) for n in whole] == pytest.approx(range(11))
    assert e.aperture_factor(8, 11) == pytest.approx(2)  # not (11/8)^2 = 1.89
    # Wikipedia "F-number" (2012): doubling the f-number needs four times the exposure
    assert e.aperture_factor(4, 8) == pytest.approx(4)
    assert [e.aperture_stops(n) for n in (1.7, 2.4, 3.3, 4.8, 6.7, 9.5, 19, 27)] == [
        1.5,
        2.5,
        3.5,
        4.5,
        5.5,
        6.5,
        8.5,
        9.5,
    ]
    assert e.aperture_factor(8, 8.7) == pytest.approx((8.7 / 8) ** 2)


@pytest.mark.parametrize(
    ("frame", "sheet", "fit", "fill"),
    [
        # arithmetic on published frame and paper sizes, borderless
        ("35mm", "8x10in", 7.0556, 8.4667), ("24x36mm", "12x16in", 11.2889, 12.7), ("6x4.5", "11x14in", 6.35, 6.7325),
        ("6x6", "16x20in", 7.2571, 9.0714), ("6x7", "8x10in", 3.6286, 3.6286), ("6x9", "12x16", 4.8381, 5.4429),
    ],
)  # fmt: skip
def test_frames_on_sheets(frame: str, sheet: str, fit: float, fill: float) -> None:
    sizes = e.parse_frame(frame), e.parse_sheet(sheet)
    assert e.magnification(*sizes) == pytest.approx(fit, abs=1e-4)
    assert e.magnification(*sizes, fill=True) == pytest.approx(fill, abs=1e-4)


def test_paper_areas_in_eight_by_tens() -> None:
    unit = e.parse_sheet("8x10in").area
    areas = [e.parse_sheet(s).area / unit for s in ("5x7", "11x14in", "12x16in", "16x20in")]
    assert areas == pytest.approx([0.4375, 1.925, 2.4, 4.0])
