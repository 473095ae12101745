"""Filter packs against Kodak's factor table and the course books. Sources beside each check."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft import filters as f

# KODAK PROFESSIONAL ULTRA III Paper, Publication E-142, page 3, "Filter Factors for CP Filters"
E142 = {
    5: "1.1 1.2 1.1 1.2 1.1 1.1", 10: "1.1 1.3 1.2 1.3 1.2 1.3", 20: "1.1 1.5 1.3 1.5 1.3 1.6",
    30: "1.1 1.7 1.4 1.7 1.4 2.0", 40: "1.1 1.9 1.5 1.9 1.5 2.4", 50: "1.1 2.1 1.6 2.2 1.7 2.9",
}  # fmt: skip


def test_the_whole_table() -> None:
    for amount, row in E142.items():
        for ink, factor in zip("YMCRGB", row.split(), strict=True):
            assert f.gel_factor(ink, amount) == (float(factor), False)
    assert f.gel_factor("M", 0) == (1.0, False)


def gel(old: str, new: str, seconds: float) -> float:
    return seconds * f.gel_change(f.parse_sheets(old), f.parse_sheets(new))[0]


def dial(old: str, new: str, seconds: float) -> float:
    return seconds * f.dial_change(f.parse_pack(old), f.parse_pack(new))[0]


def test_e142_rules_worked() -> None:
    # the rules of the same page (multiply in, divide out), worked by arithmetic
    assert gel("0", "10M", 10) == pytest.approx(13)
    assert gel("20M", "0", 10) == pytest.approx(6.667, abs=0.001)
    assert gel("30M 50Y", "40M 50Y", 10) == pytest.approx(11.176, abs=0.001)
    assert gel("20M", "20R", 10) == pytest.approx(10)
    assert gel("20B", "10C", 20) == pytest.approx(15)


def test_dichroic_heads() -> None:
    # E-142 p. 3: 1 % a unit of magenta, none for yellow, cyan by the table
    assert dial("0", "20M", 10) == pytest.approx(12)
    assert dial("30M 10Y", "30M 60Y", 10) == pytest.approx(10)
    assert dial("10C", "20C", 10) == pytest.approx(10 * 1.3 / 1.2)
    # NAVEDTRA 14209 ch. 12: pack 40M 60Y, 10 s; 10M more is 11 s
    assert dial("40M 60Y", "50M 60Y", 10) == pytest.approx(11)


def test_neutral_density() -> None:
    # US Army SS0514 p. 5-6
    assert f.resolve(f.parse_pack("46Y 38M 12C")) == (f.Pack(0, 26, 34), 12)
    # NAVEDTRA 14209 "Neutral density": 10R+20G+30B less 10 of each is 20G+10... scan repaired: 0R 10G 20B
    assert f.resolve(f.parse_pack("10R 20G 30B"))[0] == f.resolve(f.parse_pack("10G 20B"))[0]
    # the same: 30M + 20M = 50M, 10B - 05B = 05B, 10M + 10C = 10B; Kodak filter book p. 53: 20Y + 20M = 20R
    assert f.parse_pack("30M 20M") == f.parse_pack("50M")
    assert f.parse_pack("10B -5B") == f.parse_pack("5B")
    assert f.parse_pack("10M 10C") == f.parse_pack("10B")
    assert f.parse_pack("20Y 20M") == f.parse_pack("20R")
    # a negative is resolved by the algebra: 5M - 10M is 5C 5Y
    assert f.resolve(f.parse_pack("5M -10M")) == (f.Pack(5, 0, 5), -5)


@pytest.mark.parametrize(
    ("cast", "change"),
    [
        # Univ. of South Florida, Photography lab manual, Color printing basics; negative to positive
        ("yellow", f.Pack(y=1)), ("magenta", f.Pack(m=1)), ("red", f.Pack(m=1, y=1)),
        ("blue", f.Pack(y=-1)), ("green", f.Pack(m=-1)), ("cyan", f.Pack(m=-1, y=-1)),
    ],
)  # fmt: skip
def test_directions(cast: str, change: f.Pack) -> None:
    assert f.correction(cast, 1) == change
    assert f.correction(cast, 1, reversal=True) == f.Pack() - change


def test_half_of_the_viewing_filter() -> None:
    # NAVEDTRA 14209: half the viewing-filter value
    assert [f.from_viewing(v) for v in (10, 20, 40)] == [5, 10, 20]


amounts = st.floats(0, 100).map(lambda v: round(v, 1))
packs = st.builds(f.Pack, amounts, amounts, amounts)


@given(packs)
def test_a_resolved_pack_has_two_inks_at_most_and_the_same_colour(pack: f.Pack) -> None:
    left, neutral = f.resolve(pack)
    assert min(left.c, left.m, left.y) == 0
    assert [left.c + neutral, left.m + neutral, left.y + neutral] == pytest.approx([pack.c, pack.m, pack.y], abs=1e-5)


@given(packs, packs)
def test_time_goes_there_and_back(one: f.Pack, other: f.Pack) -> None:
    for change in (
        lambda a, b: f.dial_change(a, b)[0],
        lambda a, b: f.gel_change(f.as_sheets(a), f.as_sheets(b))[0],
    ):
        assert change(one, other) * change(other, one) == pytest.approx(1)


@given(st.sampled_from("CMYRGB"), st.floats(0, 150), st.floats(0, 10))
def test_more_filter_is_never_less_time(ink: str, amount: float, more: float) -> None:
    if amount // 50 == (amount + more) // 50:  # a sheet more has its own surfaces
        assert f.gel_factor(ink, amount + more)[0] >= f.gel_factor(ink, amount)[0] - 1e-12


def test_between_rows_is_said() -> None:
    factor, between = f.gel_factor("M", 15)
    assert between
    assert factor == pytest.approx((1.3 * 1.5) ** 0.5)  # half-way in log exposure
    assert f.gel_factor("M", 60) == (pytest.approx(2.1 * 1.3), False)


@pytest.mark.parametrize("text", ["60M 45Y", "45Y60M", "C0 M60 Y45", "60M+45Y", "0-60-45", "60m, 45y", "m60 y45"])
def test_ways_of_writing_a_pack(text: str) -> None:
    assert f.parse_pack(text) == f.Pack(0, 60, 45)


@pytest.mark.parametrize("text", ["", "banana", "60", "60M 45", "M", "999M", "60M--5Y", "1-2"])
def test_what_is_no_pack(text: str) -> None:
    with pytest.raises(ValueError, match="filter"):
        f.parse_pack(text)


@given(st.text(max_size=20))
def test_any_text_is_a_pack_or_a_sentence(text: str) -> None:
    try:
        f.parse_pack(text)
    except ValueError as error:
        assert "filter" in str(error)


def test_a_ring_has_six_casts_and_they_are_corrected_back() -> None:
    ring = f.ring(f.Pack(0, 60, 50), 10)
    assert [name for name, _ in ring][0] == "as it is"
    for name, pack in ring[1:]:
        cast = name.removeprefix("towards ")
        assert f.resolve(pack + f.correction(cast, 10))[0] == f.Pack(0, 60, 50)
