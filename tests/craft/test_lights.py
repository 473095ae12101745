"""Additive heads: our own arithmetic, from what a CC is; only its shares lean on a published table."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft import filters as colour_filters
from timer.craft import lights as craft_lights

levels = st.floats(5, 200).map(lambda v: round(v, 1))
lights = st.builds(craft_lights.Lights, levels, levels, levels)
stepped = st.builds(craft_lights.Lights, *[st.integers(5, 60).map(float)] * 3, st.sampled_from([12.0, 30.0]))
changes = st.builds(colour_filters.Pack, *[st.integers(-30, 30).map(float)] * 3)


def test_the_shares_are_e142s_factors_without_the_sheets_surface() -> None:
    # of each ink: log10(factor / yellow's 1.1) for a CC of 0.01, mean of 20 to 50, brought to a sum of one
    rows = (20, 30, 40, 50)
    raw = [
        sum(100 * math.log10(colour_filters.gel_factor(ink, r)[0] / colour_filters.gel_factor("Y", r)[0]) / r for r in rows)
        / 4
        for ink in "CMY"
    ]
    assert [share / sum(raw) for share in raw] == pytest.approx(craft_lights.SHARES, abs=0.02)
    assert sum(craft_lights.SHARES) == 1


def test_ten_cc_of_a_cast_are_a_tenth_of_a_density_of_light() -> None:
    green = craft_lights.shifted(craft_lights.Lights(80, 60, 50), colour_filters.correction("magenta", 10))
    assert (green.red, green.green, green.blue) == (80, pytest.approx(60 / 10**0.1, abs=0.01), 50)
    # more light when it is too green, and the time goes down by its share
    more = craft_lights.shifted(craft_lights.Lights(80, 60, 50), colour_filters.correction("green", 10))
    assert more.green == pytest.approx(60 * 10**0.1, abs=0.01)
    assert craft_lights.lights_change(craft_lights.Lights(80, 60, 50), more) == pytest.approx(10 ** (-0.1 * 0.65), abs=1e-4)


def test_steps_of_a_scale() -> None:
    # 12 steps a stop: 10 CC are 0.1 / log10(2) = 0.332 stop, 3.99 steps
    moved = craft_lights.shifted(craft_lights.Lights(30, 24, 20, 12), colour_filters.correction("yellow", 10))
    assert (moved.red, moved.green, moved.blue) == (30, 24, pytest.approx(20 - 3.986, abs=0.01))
    assert craft_lights.light(craft_lights.Lights(12, 0, 24, 12)) == (2, 1, 4)


def test_two_scales_have_no_ratio() -> None:
    with pytest.raises(ValueError, match=r"^R80 G60 B50 and R80 G60 B50 at 12 a stop are on two scales; write both on the"):
        craft_lights.lights_change(craft_lights.Lights(80, 60, 50), craft_lights.Lights(80, 60, 50, 12))
    # a scale of 12 steps: 12 more of green are a stop, and 2^-0.65 is the time
    change = craft_lights.lights_change(craft_lights.Lights(30, 24, 20, 12), craft_lights.Lights(30, 36, 20, 12))
    assert change == pytest.approx(2**-0.65)


def test_a_light_that_would_pass_the_end_takes_the_others_down() -> None:
    moved = craft_lights.shifted(craft_lights.Lights(100, 60, 50), colour_filters.Pack(c=-10), top=100)
    assert (moved.red, moved.green, moved.blue) == pytest.approx((100, 60 / 10**0.1, 50 / 10**0.1), abs=0.01)
    # the same balance and the same print: the time makes up for it
    free = craft_lights.shifted(craft_lights.Lights(100, 60, 50), colour_filters.Pack(c=-10))
    assert craft_lights.lights_change(free, moved) == pytest.approx(10**0.1, abs=1e-3)
    down = craft_lights.shifted(craft_lights.Lights(50, 24, 20, 12), colour_filters.Pack(c=-10), top=50)
    assert (down.red, down.green) == (50, pytest.approx(24 - 3.986, abs=0.01))
    up = craft_lights.shifted(craft_lights.Lights(30, 24, 2, 12), colour_filters.Pack(y=10), top=50)
    assert (up.blue, up.red) == (0, pytest.approx(30 + 1.986, abs=0.01))
    for cc in (10, 1.5):  # by four steps, or by not much more than half of one
        with pytest.raises(ValueError, match="too few"):
            craft_lights.shifted(craft_lights.Lights(50, 24, 0, 12), colour_filters.Pack(y=cc), top=50)


@given(lights, lights, lights)
def test_times_do_not_depend_on_the_way(
    one: craft_lights.Lights, other: craft_lights.Lights, third: craft_lights.Lights
) -> None:
    assert craft_lights.lights_change(one, third) * craft_lights.lights_change(third, other) == pytest.approx(
        craft_lights.lights_change(one, other)
    )


@given(lights, st.floats(0.1, 10))
def test_less_of_all_three_is_more_time_and_nothing_else(one: craft_lights.Lights, by: float) -> None:
    dimmed = craft_lights.Lights(one.red / by, one.green / by, one.blue / by)
    assert craft_lights.lights_change(one, dimmed) == pytest.approx(by)


@given(st.one_of(lights, stepped), changes)
def test_a_change_and_back_is_where_it_was(one: craft_lights.Lights, change: colour_filters.Pack) -> None:
    there = craft_lights.shifted(one, change)
    back = craft_lights.shifted(there, colour_filters.Pack() - change)
    # by light, not by numbers: on a scale all three may have been lifted from 0
    for before, after in zip(craft_lights.light(one), craft_lights.light(back), strict=True):
        assert after / before == pytest.approx(craft_lights.light(back)[0] / craft_lights.light(one)[0], rel=2e-3)


@given(lights, changes)
def test_lights_and_filters_agree(one: craft_lights.Lights, change: colour_filters.Pack) -> None:
    before, after = craft_lights.as_pack(one), craft_lights.as_pack(craft_lights.shifted(one, change))
    want, got = colour_filters.resolve(before + change)[0], colour_filters.resolve(after)[0]
    assert (got.c, got.m, got.y) == pytest.approx((want.c, want.m, want.y), abs=0.3)


def test_a_light_that_is_off_has_no_ratio() -> None:
    assert craft_lights.lights_change(craft_lights.Lights(10, 10, 0), craft_lights.Lights(20, 20, 0)) == 0.5
    read = craft_lights.Lights(10, 10, float("0")), craft_lights.Lights(20, 20, float("0"))
    assert craft_lights.lights_change(*read) == 0.5
    for one, other in itertools.permutations((craft_lights.Lights(10, 10, 0), craft_lights.Lights(10, 10, 5))):
        with pytest.raises(ValueError, match="off"):
            craft_lights.lights_change(one, other)


@pytest.mark.parametrize("text", ["80R 60G 50B", "R80 G60 B50", "80-60-50", "b50 r80, g60", "80R60G50B", " 80 / 60 / 50 "])
def test_ways_of_writing_lights(text: str) -> None:
    assert craft_lights.parse_lights(text) == craft_lights.Lights(80, 60, 50)
    assert str(craft_lights.parse_lights(text)) == "R80 G60 B50"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "80R 60G",
        "80R 60G 50B 5R",
        "80R 60G 50R",
        "80R 60G 50M",
        "80-60",
        "x",
        "R80 G60 B50 y",
        "R10001 G1 B1",
        "R0 G1 B1",
    ],
)
def test_what_are_no_three_lights(text: str) -> None:
    with pytest.raises(ValueError, match="light"):
        craft_lights.parse_lights(text)


def test_a_scale_in_steps_is_written_and_read_with_its_steps() -> None:
    stepped = craft_lights.Lights(30, 24, 20, 12)
    assert str(stepped) == "R30 G24 B20 at 12 a stop"
    assert craft_lights.parse_lights(str(stepped)) == stepped
    assert craft_lights.parse_lights("30-24-20 at 12.5 a stop") == craft_lights.Lights(30, 24, 20, 12.5)
    assert craft_lights.parse_lights("R30 G24 B20", 12) == stepped


def test_scales_that_no_head_has() -> None:
    assert craft_lights.on_scale(craft_lights.Lights(30, 0, 0, 1)) == craft_lights.Lights(30, 0, 0, 1)
    assert craft_lights.on_scale(craft_lights.Lights(10_000, 1, 1)) == craft_lights.Lights(10_000, 1, 1)
    with pytest.raises(ValueError, match="too few"):
        craft_lights.on_scale(craft_lights.Lights(0, 0, 0, 0.9))
    with pytest.raises(ValueError, match="more than 360"):
        craft_lights.on_scale(craft_lights.Lights(0, 0, 361, 12))
    with pytest.raises(ValueError, match="more than 10000"):
        craft_lights.on_scale(craft_lights.Lights(10_001, 1, 1))


def test_nothing_is_a_level_on_a_scale_of_steps() -> None:
    assert craft_lights.parse_lights("0-10-20", 12) == craft_lights.Lights(0, 10, 20, 12)


@given(st.text(alphabet="RGBrgb0123456789.-/, ", max_size=16))
def test_any_text_is_three_lights_or_a_sentence(text: str) -> None:
    try:
        craft_lights.parse_lights(text)
    except ValueError as error:
        assert "light" in str(error)


def test_to_the_digit_that_a_hand_can_set() -> None:
    """10 CC on 12 steps a stop are 12 x 0.1 x log2(10) = 3.98631 steps; of a level they leave 10^-0.1 = 0.794328."""
    yellow = colour_filters.Pack(y=10)
    assert craft_lights.shifted(craft_lights.Lights(30, 24, 20, 12), yellow).blue == 16.01
    assert craft_lights.shifted(craft_lights.Lights(30, 24, 20), yellow).blue == 15.89
    # at or just above the lowest step nothing is moved, and just below all three are lifted
    low = craft_lights.Lights(30, 24, 0.5, 12)
    assert craft_lights.shifted(low, colour_filters.Pack()) == low
    assert craft_lights.shifted(craft_lights.Lights(30, 24, 3.5, 12), yellow) == craft_lights.Lights(30.49, 24.49, 0, 12)
    full = craft_lights.Lights(50, 24, 0, 12)
    assert craft_lights.shifted(full, colour_filters.Pack(), 50) == full
    # a head of levels without an end, or with one that is not reached
    up = craft_lights.Lights(126.0, 60, 50)
    assert craft_lights.shifted(craft_lights.Lights(100.1, 60, 50), colour_filters.Pack(c=-10)) == up
    assert craft_lights.shifted(craft_lights.Lights(100.1, 60, 50), colour_filters.Pack(c=-10), 127) == up


def test_lights_as_filters_by_hand() -> None:
    # three tenths of the light are log10(10 / 3) = 0.52288 of density; what is off is more than any filter takes
    assert craft_lights.as_pack(craft_lights.Lights(10, 3, 10)) == colour_filters.Pack(m=52.3)
    assert craft_lights.as_pack(craft_lights.Lights(0, 10, 10)) == colour_filters.Pack(c=10_000)


def test_levels_below_one_have_a_ratio_too() -> None:
    dim, dimmer = craft_lights.Lights(0.5, 1, 1), craft_lights.Lights(0.25, 1, 1)
    assert craft_lights.lights_change(dim, dimmer) == pytest.approx(2**0.35)
    assert craft_lights.on_scale(craft_lights.Lights(0, 0, 360, 12)).blue == 360
