"""Filter packs: our own choices, and what must hold of any."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft import filters as colour_filters

amounts = st.floats(0, 100).map(lambda v: round(v, 1))
packs = st.builds(colour_filters.Pack, amounts, amounts, amounts)
any_packs = st.builds(colour_filters.Pack, *[st.floats(-100, 100).map(lambda v: round(v, 1))] * 3)


# ── our own choices ──────────────────────────────────────────────────────────


def test_between_rows_the_factor_goes_in_log_exposure_and_says_so() -> None:
    factor, between = colour_filters.gel_factor("M", 15)
    assert between
    assert factor == pytest.approx((1.3 * 1.5) ** 0.5)
    assert colour_filters.gel_factor("M", 45) == (pytest.approx((1.9 * 2.1) ** 0.5), True)
    assert all(colour_filters.gel_factor(ink, 0) == (1.0, False) for ink in "CMYRGB")
    # one of two is enough to say so, whichever it is
    for old, new, said in (("10M", "15M", True), ("15M", "10M", True), ("15M 10C", "10M", True), ("10M", "20M 5C", False)):
        assert colour_filters.gel_change(colour_filters.parse_sheets(old), colour_filters.parse_sheets(new))[1] is said
    for old, new, said in (("10C", "15C", True), ("15C", "10C", True), ("15M", "10M", False), ("12C", "13C", True)):
        assert colour_filters.dial_change(colour_filters.parse_pack(old), colour_filters.parse_pack(new))[1] is said


def test_above_fifty_is_a_sheet_of_fifty_and_one_more() -> None:
    assert colour_filters.gel_factor("M", 60) == (pytest.approx(2.1 * 1.3), False)
    assert colour_filters.gel_factor("C", 150) == (pytest.approx(1.6**3), False)


def test_the_sheets_surfaces_count() -> None:
    # 20R for 20M 20Y is a sheet less
    assert colour_filters.gel_change(colour_filters.parse_sheets("20M 20Y"), colour_filters.parse_sheets("20R"))[
        0
    ] == pytest.approx(1 / 1.1)


def test_dials_do_not_depend_on_the_way() -> None:
    def change(old: str, new: str) -> float:
        return colour_filters.dial_change(colour_filters.parse_pack(old), colour_filters.parse_pack(new))[0]

    assert change("60M", "40M") == pytest.approx(1 / 1.2)
    assert change("60M", "50M") * change("50M", "40M") == pytest.approx(change("60M", "40M"))
    assert change("10C", "20C") == pytest.approx(1.3 / 1.2)


def test_more_of_a_cast_is_more_of_its_correction() -> None:
    assert [colour_filters.correction(cast, 7) for cast in colour_filters.CASTS] == [
        colour_filters.Pack(0, 7, 7), colour_filters.Pack(0, 0, 7), colour_filters.Pack(0, -7, 0), colour_filters.Pack(0, -7, -7), colour_filters.Pack(0, 0, -7), colour_filters.Pack(0, 7, 0),
    ]  # fmt: skip


def test_reversal_paper_is_the_other_way_about() -> None:
    for cast in colour_filters.CASTS:
        assert colour_filters.correction(cast, 7, reversal=True) == colour_filters.Pack() - colour_filters.correction(
            cast, 7
        )


def test_how_much_a_cast_is() -> None:
    # common practice, no source
    assert colour_filters.AMOUNTS == {"trace": 2.5, "slight": 5.0, "clear": 10.0, "strong": 20.0}


def test_no_pack_beyond_the_heads_end() -> None:
    assert colour_filters.within(colour_filters.Pack(0, 170, 50), 170) == colour_filters.Pack(0, 170, 50)
    for ink, pack in (
        ("C", colour_filters.Pack(c=171)),
        ("M", colour_filters.Pack(m=171)),
        ("Y", colour_filters.Pack(y=171)),
    ):
        with pytest.raises(ValueError, match=f"171{ink}, and the head ends at 170"):
            colour_filters.within(pack, 170)
    with pytest.raises(ValueError, match="250"):
        colour_filters.within(colour_filters.Pack(y=251))


# ── what must hold ───────────────────────────────────────────────────────────


@given(any_packs)
def test_a_resolved_pack_has_two_inks_at_most_and_the_same_colour(pack: colour_filters.Pack) -> None:
    left, neutral = colour_filters.resolve(pack)
    assert min(left.c, left.m, left.y) == 0
    assert [left.c + neutral, left.m + neutral, left.y + neutral] == pytest.approx([pack.c, pack.m, pack.y], abs=1e-5)


@given(any_packs)
def test_a_lifted_pack_is_the_least_that_light_can_go_through(pack: colour_filters.Pack) -> None:
    up = colour_filters.lifted(pack)
    assert min(up.c, up.m, up.y) >= -1e-9
    assert up == pack or min(up.c, up.m, up.y) == pytest.approx(0)
    assert colour_filters.resolve(up)[0] == colour_filters.resolve(pack)[0]


@given(packs, packs, packs)
def test_times_do_not_depend_on_the_way_and_go_there_and_back(
    one: colour_filters.Pack, other: colour_filters.Pack, third: colour_filters.Pack
) -> None:
    changes: tuple[Callable[[colour_filters.Pack, colour_filters.Pack], float], ...] = (
        lambda a, b: colour_filters.dial_change(a, b)[0],
        lambda a, b: colour_filters.gel_change(colour_filters.as_sheets(a), colour_filters.as_sheets(b))[0],
    )
    for change in changes:
        assert change(one, other) * change(other, one) == pytest.approx(1)
        assert change(one, third) * change(third, other) == pytest.approx(change(one, other))


@given(st.sampled_from("CMYRGB"), st.floats(0, 150), st.floats(0, 10))
def test_more_filter_is_never_less_time(ink: str, amount: float, more: float) -> None:
    if amount // 50 == (amount + more) // 50:  # a sheet more has its own surfaces
        assert colour_filters.gel_factor(ink, amount + more)[0] >= colour_filters.gel_factor(ink, amount)[0] - 1e-12


def test_less_than_no_filter_has_no_factor() -> None:
    for amount in (-5, -0.5):
        with pytest.raises(ValueError, match="less than no filter"):
            colour_filters.gel_factor("M", amount)


def test_only_what_is_below_nothing_is_lifted() -> None:
    for pack in (colour_filters.Pack(0.5, 0.5, 0.5), colour_filters.Pack(0, 60, 50), colour_filters.Pack(12, 38, 46)):
        assert colour_filters.lifted(pack) == pack
    assert colour_filters.lifted(colour_filters.Pack(-0.5, 60, 50)) == colour_filters.Pack(0, 60.5, 50.5)


# ── as written ───────────────────────────────────────────────────────────────


@pytest.mark.parametrize("text", ["60M 45Y", "45Y60M", "C0 M60 Y45", "60M+45Y", "0-60-45", "60m, 45y", "m60 y45"])
def test_ways_of_writing_a_pack(text: str) -> None:
    assert colour_filters.parse_pack(text) == colour_filters.Pack(0, 60, 45)


@pytest.mark.parametrize(
    ("text", "pack"),
    [
        ("0", colour_filters.Pack()),
        ("-5M", colour_filters.Pack(m=-5)),
        ("5M −10M", colour_filters.Pack(m=-5)),
        ("20R 10G 5B", colour_filters.Pack(15, 25, 30)),
        ("250C", colour_filters.Pack(250)),
    ],
)
def test_packs_of_all_kinds(text: str, pack: colour_filters.Pack) -> None:
    assert colour_filters.parse_pack(text) == pack


def test_a_pack_is_said_as_it_is_written() -> None:
    assert (str(colour_filters.Pack()), str(colour_filters.Pack(0, 60, 45)), str(colour_filters.Pack(5, 0, 0.5))) == (
        "0",
        "60M 45Y",
        "5C 0.5Y",
    )


@pytest.mark.parametrize("text", ["", "banana", "60", "60M 45", "M", "999M", "251M", "60M--5Y", "1-2"])
def test_what_is_no_pack(text: str) -> None:
    with pytest.raises(ValueError, match="filter"):
        colour_filters.parse_pack(text)


@given(st.text(max_size=20))
def test_any_text_is_a_pack_or_a_sentence(text: str) -> None:
    try:
        colour_filters.parse_pack(text)
    except ValueError as error:
        assert "filter" in str(error)
