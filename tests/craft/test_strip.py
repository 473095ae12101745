import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.strip import Burst, Patch, Way, bursts, patches

steps = st.fractions(min_value=Fraction(1, 24), max_value=1, max_denominator=24)
ways = st.sampled_from(["cover", "uncover", "window"])


@given(st.floats(0.5, 30), steps, st.integers(2, 12), ways, st.booleans())
def test_every_patch_gets_its_seconds(seconds: float, step: Fraction, count: int, way: Way, around: bool) -> None:
    strip = patches(seconds, step, count, around=around)
    for patch in strip:
        light = sum(b.seconds for b in bursts(strip, way) if b.first <= patch.patch <= b.last)
        assert light == pytest.approx(patch.seconds)


@given(st.floats(0.5, 30), steps, st.integers(2, 12))
def test_uncovering_gives_the_bursts_of_covering_backwards(seconds: float, step: Fraction, count: int) -> None:
    strip = patches(seconds, step, count)
    assert bursts(strip, "uncover") == tuple(reversed(bursts(strip, "cover")))


@given(st.floats(0.5, 30), steps, st.integers(1, 5))
def test_around_puts_the_time_in_the_middle(seconds: float, step: Fraction, half: int) -> None:
    strip = patches(seconds, step, 2 * half + 1, around=True)
    assert strip[half] == Patch(half + 1, Fraction(0), seconds)


def test_halves_and_thirds() -> None:
    assert [p.stops for p in patches(10, Fraction(1, 3), 2)] == [0, Fraction(1, 3)]
    assert [p.stops for p in patches(10, Fraction(1, 3), 3, around=True)] == [
        Fraction(-1, 3),
        0,
        Fraction(1, 3),
    ]
    assert [p.stops for p in patches(10, Fraction(1, 3), 2, around=True)] == [Fraction(-1, 6), Fraction(1, 6)]


@pytest.mark.parametrize(
    ("seconds", "step", "count"),
    [
        (8, "1/3", 1), (8, "1/3", 25), (8, "0", 5), (8, "-1/3", 5),
        (0, "1/3", 5), (-1, "1/3", 5), (math.inf, "1/3", 5), (math.nan, "1/3", 5),
    ],
)  # fmt: skip
def test_what_is_no_strip(seconds: float, step: str, count: int) -> None:
    with pytest.raises(ValueError, match=r"strip|step"):
        patches(seconds, Fraction(step), count)


def test_bursts_by_hand() -> None:
    """2, 4 and 8 s: all of it gets 2 s, the darker two 2 s more, the last one 4 s more."""
    strip = patches(2, Fraction(1), 3)
    covering = (Burst(2, 1, 3), Burst(2, 2, 3), Burst(4, 3, 3))
    assert bursts(strip, "cover") == covering
    assert bursts(strip, "uncover") == covering[::-1]
    assert bursts(strip, "window") == (Burst(2, 1, 1), Burst(4, 2, 2), Burst(8, 3, 3))


def test_the_longest_strip() -> None:
    """24 patches, half a stop apart: the last gets 2 to the 11.5 times the first."""
    last = patches(0.01, Fraction(1, 2), 24)[-1]
    assert (last.patch, last.stops, last.seconds) == (24, Fraction(23, 2), pytest.approx(0.01 * 2**11.5))
