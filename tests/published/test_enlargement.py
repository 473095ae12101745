"""Magnification, distances and apertures as handbooks print them."""

import pytest

from tests.published.source import NOT_NAMED, published
from timer.craft import enlargement


@published("L. P. Clerc", "Photography: Theory and Practice, Practical Enlarging", "p. 765")
def test_optimum_exposures() -> None:
    # "2, 3, 4, 5 times: as 9, 16, 25, 36"; scan repaired
    assert [enlargement.size_factor(2, m) * 9 for m in (2, 3, 4, 5)] == pytest.approx([9, 16, 25, 36])


@published(NOT_NAMED, "Photo, Enlarging, part 2", "chestofbooks.com/arts/photography/Photo/Enlarging-Part-2.html")
def test_twelve_to_twenty_inches() -> None:
    assert enlargement.distance_factor(12, 20) == pytest.approx(400 / 144)


@published(NOT_NAMED, "Dictionary of Photography", "p. 372, rodsmith.org.uk/photographic-dictionary")
def test_bromide_paper_at_four_distances() -> None:
    # its third, 395 for 405, is a misprint
    assert [45 * enlargement.distance_factor(12, d) for d in (12, 24, 48)] == pytest.approx([45, 180, 720])


@pytest.mark.parametrize(
    ("focal", "m", "to_paper", "to_negative"),
    [
        pytest.param(
            7, 2, 21, 10.5,
            marks=published(NOT_NAMED, "The Sinclair Handbook of Photography, Useful tables", "chestofbooks.com"),
        ),
        pytest.param(
            8, 4, 40, 10,  # scan repaired
            marks=published(NOT_NAMED, "The Book of Photography, Calculation of conjugate foci", "gluedideas.com"),
        ),
        pytest.param(
            12, 1 / 12, 13, 156,  # a yard to 3 in
            marks=published(NOT_NAMED, "The Book of Photography, Calculation of conjugate foci", "gluedideas.com"),
        ),
    ],
)  # fmt: skip
def test_worked_distances(focal: float, m: float, to_paper: float, to_negative: float) -> None:
    assert enlargement.lens_to_paper(focal, m) == pytest.approx(to_paper)
    assert enlargement.negative_to_lens(focal, m) == pytest.approx(to_negative)
    assert enlargement.negative_to_paper(focal, m) == pytest.approx(to_paper + to_negative)


# Inches: lens to paper / lens to negative, 1 to 8 times. None: a printed cell that is a misprint or coarse (seven of them).
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


@published(
    "J. A. Tennant",
    "Bromide Printing and Enlarging; table of the British Journal of Photography Almanac",
    "bitlit.ru, p. 11",
)
def test_the_almanacs_conjugate_table() -> None:
    checked = 0
    for focal, row in ALMANAC.items():
        for m, cell in enumerate(row, 1):
            if cell:
                assert enlargement.lens_to_paper(focal, m) == pytest.approx(cell[0])
                assert enlargement.negative_to_lens(focal, m) == pytest.approx(cell[1])
                checked += 1
    assert checked == 73


@published(NOT_NAMED, "Practical Photography vol. 2, Goerz Anastigmat lenses, part 3", "par. 794-797, chestofbooks.com")
@pytest.mark.parametrize(
    ("m", "distance", "relative"),
    # distance of image and lens in focal lengths; exposure against that for the same size, truncated in print
    [
        (1 / 30, 1 + 1 / 30, 0.27), (1 / 20, 1 + 1 / 20, 0.28), (1 / 10, 1.1, 0.30), (1 / 8, 1.125, 0.31),
        (1 / 6, 1 + 1 / 6, 0.34), (1 / 4, 1.25, 0.39), (1 / 2, 1.5, 0.56), (3 / 4, 1.75, 0.76), (1, 2, 1), (2, 3, 2.25),
        (3, 4, 4),
    ],
)  # fmt: skip
def test_proportionate_exposures(m: float, distance: float, relative: float) -> None:
    assert enlargement.lens_to_paper(1, m) == pytest.approx(distance)
    assert enlargement.size_factor(1, m) == pytest.approx(relative, abs=0.01)


@published("JEITA", "Exif 2.2, values of FNumber", "learn.microsoft.com, System.Photo.FNumber")
def test_whole_stops() -> None:
    whole = (1, 1.4, 2, 2.8, 4, 5.6, 8, 11, 16, 22, 32)
    assert [enlargement.aperture_stops(n) for n in whole] == pytest.approx(range(11))


@published("Wikipedia contributors", "F-number, 27 January 2012", "web.archive.org, en.wikipedia.org/wiki/F-number")
def test_twice_the_f_number_is_four_times_the_exposure() -> None:
    assert enlargement.aperture_factor(4, 8) == pytest.approx(4)
