"""Magnification, sizes and apertures: arithmetic on published sizes, and our own choices."""

import math
from collections.abc import Callable

import pytest

from timer.craft import enlargement


def test_four_by_five_to_sixteen_by_twenty() -> None:
    # f = 150 mm: 450 and 750 mm from the paper are M 2 and M 4, so 25/9
    assert (enlargement.magnification_at(150, 450), enlargement.magnification_at(150, 750)) == pytest.approx((2, 4))
    assert enlargement.distance_factor(450, 750) == pytest.approx(25 / 9)
    frame = enlargement.parse_frame("101.6x127mm")
    assert enlargement.magnification(frame, enlargement.parse_sheet("8x10in")) == pytest.approx(2)
    assert enlargement.magnification(frame, enlargement.parse_sheet("16x20in")) == pytest.approx(4)
    assert enlargement.negative_to_paper(150, 2) == pytest.approx(150 * (2 + 2 + 1 / 2))


def test_paper_is_never_nearer_than_the_focal_length() -> None:
    for to_paper in (50, 49.9):
        with pytest.raises(ValueError, match="nearer to the lens"):
            enlargement.magnification_at(50, to_paper)


def test_a_measured_head() -> None:
    assert enlargement.size_factor(6.7, 10.9, enlargement.exponent_from(6.7, 10.9, 1.8)) == pytest.approx(1.8)
    assert enlargement.exponent_from(6.7, 10.9, 1.8) == pytest.approx(0.675, abs=0.0005)
    with pytest.raises(ValueError, match="further apart"):
        enlargement.exponent_from(6.7, 6.8, 1.8)
    rule = 25 / 9  # M 2 to 4
    for exponent in (0.31, 0.5, 1.5, 1.99):
        assert enlargement.exponent_from(2, 4, rule**exponent) == pytest.approx(exponent)
    for exponent in (0.29, 2.01, 2.9):
        with pytest.raises(ValueError, match="too far"):
            enlargement.exponent_from(2, 4, rule**exponent)
    # 2 % of the magnification + 1 is near enough to be one size
    assert enlargement.exponent_from(2, 3 * 1.0203 - 1, 1.0203**2) == pytest.approx(1)
    with pytest.raises(ValueError, match="further apart"):
        enlargement.exponent_from(2, 3 * 1.02 - 1, 1.02**2)


def test_marks_stand_for_thirds_and_halves_of_a_stop() -> None:
    # 2^(stops / 2) to the digit that is engraved
    thirds = (1, 1.1, 1.2, 1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16,
              18, 20, 22, 25, 29, 32, 36, 40, 45)  # fmt: skip
    assert [enlargement.aperture_stops(n) for n in thirds] == pytest.approx([k / 3 for k in range(34)])
    halves = {1.7: 1.5, 2.4: 2.5, 3.3: 3.5, 4.8: 4.5, 6.7: 5.5, 9.5: 6.5, 19: 8.5, 27: 9.5}
    assert {n: enlargement.aperture_stops(n) for n in halves} == halves
    for n, stops in halves.items():
        assert 2 ** (stops / 2) == pytest.approx(n, rel=0.02)
    assert enlargement.exact_aperture(11) == pytest.approx(2**3.5)
    assert enlargement.aperture_factor(8, 11) == pytest.approx(2)  # not (11/8)^2 = 1.89
    assert enlargement.aperture_factor(8, 8.7) == pytest.approx((8.7 / 8) ** 2)  # no mark: as it is


@pytest.mark.parametrize(
    ("frame", "sheet", "fit", "fill"),
    [
        # by hand: sides of the sheet in mm over the sides of the frame
        ("35mm", "8x10in", 254 / 36, 203.2 / 24), ("24x36mm", "12x16in", 406.4 / 36, 304.8 / 24),
        ("135", "30x40cm", 400 / 36, 300 / 24), ("half frame", "5x7", 127 / 18, 177.8 / 24),
        ("6x4.5", "11x14in", 355.6 / 56, 279.4 / 41.5), ("6x6", "16x20in", 406.4 / 56, 508 / 56),
        ("6x7", "8x10in", 203.2 / 56, 254 / 70), ("6x8", "20x24", 609.6 / 77, 508 / 56),
        ("6x9", "12x16", 406.4 / 84, 304.8 / 56), ("6x12", "10x12", 304.8 / 118, 254 / 56),
        ("6x17", "9.5x12", 304.8 / 168, 241.3 / 56), ("6x24", "3.5x5", 127 / 224, 88.9 / 56),
        ("56x56mm", "4x5", 101.6 / 56, 127 / 56), ("56x56mm", "4x6", 101.6 / 56, 152.4 / 56),
        ("56x56mm", "6.5x8.5", 165.1 / 56, 215.9 / 56), ("56x56mm", "7x9.5", 177.8 / 56, 241.3 / 56),
    ],
)  # fmt: skip
def test_frames_on_sheets(frame: str, sheet: str, fit: float, fill: float) -> None:
    sizes = enlargement.parse_frame(frame), enlargement.parse_sheet(sheet)
    assert enlargement.magnification(*sizes) == pytest.approx(fit)
    assert enlargement.magnification(*sizes, fill=True) == pytest.approx(fill)


def test_paper_areas_in_eight_by_tens() -> None:
    unit = enlargement.parse_sheet("8x10in").area
    areas = [enlargement.parse_sheet(s).area / unit for s in ("5x7", "11x14in", "12x16in", "16x20in")]
    assert areas == pytest.approx([0.4375, 1.925, 2.4, 4.0])


def test_blades_leave_even_borders() -> None:
    sheet, frame = enlargement.parse_sheet("200x250mm"), enlargement.parse_frame("24x36mm")
    # whole negative: 250 mm long, 166.7 wide; 16.7 mm at each end of the short side
    assert enlargement.blades(sheet, enlargement.image_on(frame, sheet, 250 / 36)) == pytest.approx(
        ((200 - 250 * 24 / 36) / 2, 0)
    )
    # filled inside a border of 10 mm: that border all round
    smaller = enlargement.image_on(frame, sheet, 5)
    assert (smaller.short, smaller.long) == (120, 180)
    assert enlargement.blades(sheet, smaller) == (40, 35)
    assert sheet.inside(0) == sheet
    assert enlargement.Size(2, 3).inside(0.75) == enlargement.Size(0.5, 1.5)
    assert sheet.inside(0.5) == enlargement.Size(199, 249)
    inside = sheet.inside(10)
    assert (inside.short, inside.long) == (180, 230)
    assert enlargement.blades(sheet, enlargement.image_on(frame, inside, 180 / 24)) == pytest.approx((10, 10))
    for border in (100, 101, -1):
        with pytest.raises(ValueError, match="leaves nothing"):
            sheet.inside(border)


@pytest.mark.parametrize("text", ["8 x 10 in", '8x10"', "8×10 inch", "20.32x25.4cm", "254x203.2mm", "8x10"])
def test_ways_of_writing_a_size(text: str) -> None:
    size = enlargement.parse_sheet(text)
    assert (size.short, size.long) == pytest.approx((203.2, 254))


@pytest.mark.parametrize("text", ["", "8", "8x10ft", "0x10in", "0.5x10mm", "1x3001mm", "8x"])
def test_what_is_no_size(text: str) -> None:
    with pytest.raises(ValueError, match=r"size"):
        enlargement.parse_sheet(text)


def test_sizes_at_the_limits() -> None:
    assert enlargement.parse_sheet("1x3000mm") == enlargement.Size(1, 3000)
    with pytest.raises(ValueError, match="did you mean '8x10'"):
        enlargement.parse_sheet("8x10x")


@pytest.mark.parametrize("value", [0, -1, math.inf, math.nan])
def test_nothing_is_no_size_and_no_distance(value: float) -> None:
    sums: tuple[Callable[[], object], ...] = (
        lambda: enlargement.size_factor(value, 2), lambda: enlargement.size_factor(2, value), lambda: enlargement.distance_factor(value, 2),
        lambda: enlargement.lens_to_paper(50, value), lambda: enlargement.negative_to_lens(value, 2), lambda: enlargement.aperture_stops(value),
        lambda: enlargement.magnification_at(value, 100), lambda: enlargement.exponent_from(1, 2, value),
    )  # fmt: skip
    for wrong in sums:
        with pytest.raises(ValueError, match="must all be more than 0"):
            wrong()


def test_endless_is_no_size_whoever_made_the_number() -> None:
    with pytest.raises(ValueError, match="must all be more than 0"):
        enlargement.size_factor(4, float("inf"))
