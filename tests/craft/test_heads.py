"""One set of functions for every kind of head."""

import pytest

from timer.craft import filters as colour_filters
from timer.craft import heads
from timer.craft.lights import Lights


def change(old: str, new: str, head: str) -> float:
    return heads.time_change(heads.parse_setting(old, head), heads.parse_setting(new, head), head)[0]


def test_neutral_density_takes_its_time() -> None:
    # 46Y 38M 12C to 34Y 26M: on dials 12M less and 12C less, on sheets the factors of E-142 between its rows
    cyan = 1.2**0.8 * 1.3**0.2
    assert change("46Y 38M 12C", "34Y 26M", "dichroic") == pytest.approx(1.2 ** (-12 / 20) / cyan)
    m38, m26 = 1.7**0.2 * 1.9**0.8, 1.5**0.4 * 1.7**0.6
    assert change("46Y 38M 12C", "34Y 26M", "cp") == pytest.approx(m26 / m38 / cyan)


def test_what_was_in_the_head_is_taken_as_it_was() -> None:
    raw = heads.parse_setting("20C 60M 50Y", "dichroic")
    after = heads.shifted(raw, colour_filters.correction("green", 10))
    assert after == colour_filters.Pack(0, 30, 30)
    assert 10 * heads.time_change(raw, after, "dichroic")[0] == pytest.approx(10 * 1.2 ** (-30 / 20) / 1.3)
    sheets = heads.parse_setting("20C 60M 50Y", "cp")
    after = heads.shifted(sheets, colour_filters.correction("green", 10))
    # sheets: 20C, 60M as 50M and 10M, 50Y; then 30M and 30Y
    assert 10 * heads.time_change(sheets, after, "cp")[0] == pytest.approx(10 * 1.7 * 1.1 / (1.3 * 2.1 * 1.3 * 1.1))


def test_sheets_stay_as_stacked_until_they_change() -> None:
    sheets = heads.parse_setting("20R 10Y", "cp")
    assert heads.text_of(sheets) == "20R 10Y"
    assert heads.plain(sheets) == (sheets, 0.0)
    assert heads.shifted(sheets, colour_filters.Pack()) == sheets
    assert heads.shifted(sheets, colour_filters.Pack(m=5)) == colour_filters.Pack(0, 25, 30)
    assert heads.plain(heads.parse_setting("10R 10G 5B", "cp")) == (colour_filters.Pack(0, 0, 5), 15.0)
    assert heads.text_of(heads.parse_setting("0", "cp")) == "0"
    # a pack written with less than nothing is no stack of sheets
    assert heads.parse_setting("5M -10M", "cp") == colour_filters.Pack(m=-5)
    assert change("5M -10M", "5C 5Y", "cp") == pytest.approx(1)


@pytest.mark.parametrize("head", ["cp", "dichroic"])
def test_a_ring_has_six_casts_and_they_are_corrected_back(head: str) -> None:
    before = heads.parse_setting("60M 50Y", head)
    ring = heads.ring(before, 10)
    assert [name for name, _ in ring] == ["as it is", *(f"towards {cast}" for cast in colour_filters.CASTS)]
    assert ring[0][1] == before
    for name, setting in ring[1:]:
        assert heads.shifted(setting, colour_filters.correction(name.removeprefix("towards "), 10)) == colour_filters.Pack(
            0, 60, 50
        )


def test_rings_and_ladders_begin_with_the_setting_as_it_is() -> None:
    raw = heads.parse_setting("20C 60M 50Y", "dichroic")
    assert heads.ring(raw, 10)[0] == ("as it is", colour_filters.Pack(20, 60, 50))
    assert heads.ladder(raw, "R", (0.0, 5.0, -5.0)) == [
        ("as it is", colour_filters.Pack(20, 60, 50)), ("+5R", colour_filters.Pack(0, 45, 35)), ("-5R", colour_filters.Pack(0, 35, 25)),
    ]  # fmt: skip


def test_no_head_is_taken_past_its_end() -> None:
    with pytest.raises(ValueError, match="175M, and the head ends at 170"):
        heads.shifted(heads.parse_setting("165M 20Y", "dichroic"), colour_filters.correction("magenta", 10), 170)
    with pytest.raises(ValueError, match="300M, and the head ends at 250"):
        heads.shifted(heads.parse_setting("200M 50Y", "dichroic"), colour_filters.correction("magenta", 100))
    with pytest.raises(ValueError, match="400M"):
        heads.parse_setting("200M 200M", "cp")
    for setting in (colour_filters.Pack(0, 70, 50), Lights(70, 50, 40)):
        assert heads.within(setting, "additive", 70) == heads.within(setting, "additive") == setting
        with pytest.raises(ValueError, match="70, and the head ends at 69|70M, and the head ends at 69"):
            heads.within(setting, "additive", 69)
    assert heads.within(Lights(70, 50, 40), "tricolour", 69) == Lights(70, 50, 40)  # seconds: no dial ends them
    lights = heads.shifted(Lights(90, 60, 50), colour_filters.Pack(c=-10), 100)
    assert isinstance(lights, Lights)
    assert lights.red == 100


def test_lights_are_a_setting_like_any() -> None:
    setting = heads.parse_setting("R80 G60 B50", "additive", 0.0)
    assert heads.plain(setting) == (setting, 0.0)
    assert heads.text_of(setting) == "R80 G60 B50"
    assert change("80-60-50", "40-30-25", "additive") == pytest.approx(2)
    assert change("12-8-6", "12-16-6", "tricolour") == pytest.approx(0.5**0.65)
    assert heads.parse_setting("20-30-40", "additive", 12) == Lights(20, 30, 40, 12)
    assert heads.parse_setting("20-30-40", "tricolour", 12) == Lights(20, 30, 40)  # seconds have no steps
    assert heads.pack(Lights(10, 10, 10 * 10**0.3)) == colour_filters.Pack(30, 30, 0)


@pytest.mark.parametrize("head", ["", "mine"])
def test_the_head_must_be_known(head: str) -> None:
    with pytest.raises(ValueError, match="--head cp"):
        change("60M", "50M", head)
    with pytest.raises(ValueError, match="--head cp"):
        heads.time_change(colour_filters.Pack(), Lights(1, 1, 1), "additive")


def test_the_same_setting_takes_the_same_time_and_stands_on_no_row() -> None:
    """38M is between E-142's rows; put in again it is what it was all the same."""
    for head in ("cp", "dichroic"):
        one, again = heads.parse_setting("38M", head), heads.parse_setting("38M", head)
        assert heads.time_change(one, again, head) == (1.0, False)
    assert heads.time_change(Lights(1, 1, 1), Lights(1, 2, 1), "additive")[1] is False
    with pytest.raises(ValueError, match="--head cp"):
        heads.time_change(colour_filters.Pack(), colour_filters.Pack(), "additive")


def test_what_is_a_stack_of_sheets() -> None:
    """All of something, or of nothing; not with less than nothing among them, however little."""
    assert isinstance(heads.parse_setting("0.5M 10Y", "cp"), tuple)
    assert isinstance(heads.parse_setting("0M 10Y", "cp"), tuple)
    assert isinstance(heads.parse_setting("10Y -0.5M", "cp"), colour_filters.Pack)
