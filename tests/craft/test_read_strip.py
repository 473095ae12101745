"""Reading a strip, and how far to go next."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.filters import CASTS, Pack, correction
from timer.craft.read_strip import advice, next_change, next_step, seconds_at

TIMES = [8 * 2 ** (n / 3) for n in range(5)]
THIRD = Fraction(1, 3)


@given(st.floats(1, 5))
def test_a_place_is_counted_in_stops(place: float) -> None:
    assert seconds_at(TIMES, place) == pytest.approx(8 * 2 ** ((place - 1) / 3))


def test_the_first_and_the_last_patch() -> None:
    assert (seconds_at(TIMES, 1), seconds_at(TIMES, 5)) == (pytest.approx(8), pytest.approx(TIMES[4]))


def test_between_the_last_two_of_a_strip_that_is_not_even() -> None:
    # 16 to 64 s are two stops: 32 is half-way
    assert [seconds_at([8, 16, 64], place) for place in (2, 2.5, 3)] == pytest.approx([16, 32, 64])


@pytest.mark.parametrize("place", [0.99, 5.01, float("nan"), -1])
def test_places_off_the_strip(place: float) -> None:
    with pytest.raises(ValueError, match="not on a strip of 5"):
        seconds_at(TIMES, place)


def test_advice_at_the_ends() -> None:
    assert "lightest was chosen" in advice(TIMES, 1)
    assert "darkest was chosen" in advice(TIMES, 5)
    assert "darkest was chosen" in advice(TIMES, 5.0)
    assert advice(TIMES, 1.5) == advice(TIMES, 4.5) == ""


def test_past_it_first_then_half_back() -> None:
    # halving on reversal is common practice, no source
    assert next_step(THIRD, None) == 2 * THIRD
    assert next_step(-THIRD, 2 * THIRD) == -THIRD
    assert next_step(THIRD, -2 * THIRD) == THIRD
    assert next_step(THIRD, THIRD) == THIRD
    assert next_step(Fraction(1, 12), -THIRD) == Fraction(1, 6)  # small or large, it is the direction that counts
    assert next_step(Fraction(3), Fraction(-2)) == 1
    assert next_step(Fraction(-3), Fraction(-2)) == -3
    assert next_step(Fraction(0), THIRD) == 0
    assert next_step(THIRD, Fraction(0)) == THIRD  # nothing was changed last time: nothing has turned


def test_a_colour_that_has_turned() -> None:
    last = correction("green", 10)
    assert next_change(correction("magenta", 5), last) == Pack(m=5)
    assert next_change(correction("green", 5), last) is None
    assert next_change(correction("yellow", 5), last) is None
    assert next_change(correction("magenta", 5), Pack()) is None
    # red and cyan are one axis, however they are written
    assert next_change(Pack(c=-5), correction("cyan", 10)) == Pack(m=5, y=5)
    assert next_change(Pack(c=5), correction("cyan", 10)) is None
    assert next_change(Pack(c=-10), Pack(c=10)) == Pack(c=-5)
    assert next_change(correction("red", 10), Pack(c=10)) == Pack(c=-5)


@given(st.sampled_from(CASTS), st.sampled_from(CASTS), st.floats(1, 40), st.floats(1, 40))
def test_only_the_opposite_has_turned(one: str, other: str, size: float, back: float) -> None:
    turned = next_change(correction(other, back), correction(one, size))
    opposite = {"red": "cyan", "green": "magenta", "blue": "yellow"}
    assert (turned is not None) == (opposite.get(one) == other or opposite.get(other) == one)
