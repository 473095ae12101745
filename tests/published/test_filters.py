"""Filter packs as the paper's leaflet and the course books have them."""

import pytest

from tests.published.source import E142, NAVY_NEUTRAL, NAVY_PRINTING, NAVY_VIEWING, SS0514_PACKS, published
from timer.craft import filters as colour_filters

TABLE = {
    5: "1.1 1.2 1.1 1.2 1.1 1.1", 10: "1.1 1.3 1.2 1.3 1.2 1.3", 20: "1.1 1.5 1.3 1.5 1.3 1.6",
    30: "1.1 1.7 1.4 1.7 1.4 2.0", 40: "1.1 1.9 1.5 1.9 1.5 2.4", 50: "1.1 2.1 1.6 2.2 1.7 2.9",
}  # fmt: skip


@E142
def test_filter_factors_for_cp_filters() -> None:
    for amount, row in TABLE.items():
        for ink, factor in zip("YMCRGB", row.split(), strict=True):
            assert colour_filters.gel_factor(ink, amount) == (float(factor), False)


@E142
def test_multiplied_in_and_divided_out() -> None:
    # "removed: divide by its factor; added: multiply; two or more: the product"
    assert colour_filters.gel_change(colour_filters.parse_sheets("20M"), ()) == (pytest.approx(1 / 1.5), False)
    assert colour_filters.gel_change((), colour_filters.parse_sheets("20M")) == (1.5, False)
    assert colour_filters.gel_change(colour_filters.parse_sheets("20M 50Y"), colour_filters.parse_sheets("30M 50Y"))[
        0
    ] == pytest.approx(1.7 / 1.5)


@E142
def test_twenty_magenta_on_a_dichroic_head() -> None:
    # "+20M: 20 percent"; yellow: no correction
    assert colour_filters.dial_change(colour_filters.parse_pack("30M"), colour_filters.parse_pack("50M"))[
        0
    ] == pytest.approx(1.20)
    assert colour_filters.dial_change(colour_filters.parse_pack("30M 10Y"), colour_filters.parse_pack("30M 60Y"))[0] == 1


@NAVY_PRINTING
def test_ten_magenta_more_at_ten_seconds() -> None:
    # pack 40M 60Y, 10 s at f/5.6; 10M added: 11 s, to the second
    assert 10 * colour_filters.dial_change(colour_filters.parse_pack("40M 60Y"), colour_filters.parse_pack("50M 60Y"))[
        0
    ] == pytest.approx(11, abs=0.05)


@SS0514_PACKS
def test_neutral_density_taken_out() -> None:
    assert colour_filters.resolve(colour_filters.parse_pack("46Y 38M 12C")) == (colour_filters.Pack(0, 26, 34), 12)


@NAVY_NEUTRAL
def test_filters_added_and_subtracted() -> None:
    # 10R 20G 30B less 10 of each is 10G 20B (scan repaired); 30M + 20M = 50M; 10B - 05B = 05B; 10M + 10C = 10B
    assert (
        colour_filters.resolve(colour_filters.parse_pack("10R 20G 30B"))[0]
        == colour_filters.resolve(colour_filters.parse_pack("10G 20B"))[0]
    )
    assert colour_filters.parse_pack("30M 20M") == colour_filters.parse_pack("50M")
    assert colour_filters.parse_pack("10B -5B") == colour_filters.parse_pack("5B")
    assert colour_filters.parse_pack("10M 10C") == colour_filters.parse_pack("10B")


@published("Eastman Kodak Company", "KODAK Photographic Filters Handbook", "p. 53")
def test_yellow_and_magenta_are_red() -> None:
    assert colour_filters.parse_pack("20Y 20M") == colour_filters.parse_pack("20R")


@published("University of South Florida", "Photography lab manual, Color printing basics", "art.arts.usf.edu, colorbas.htm")
@pytest.mark.parametrize(
    ("cast", "change"),
    [
        ("yellow", colour_filters.Pack(y=1)), ("magenta", colour_filters.Pack(m=1)), ("red", colour_filters.Pack(m=1, y=1)),
        ("blue", colour_filters.Pack(y=-1)), ("green", colour_filters.Pack(m=-1)), ("cyan", colour_filters.Pack(m=-1, y=-1)),
    ],
)  # fmt: skip
def test_directions_for_negative_positive_paper(cast: str, change: colour_filters.Pack) -> None:
    assert colour_filters.correction(cast, 1) == change


@NAVY_VIEWING
def test_half_of_the_viewing_filter() -> None:
    assert [colour_filters.from_viewing(v) for v in (10, 20, 40)] == [5, 10, 20]
