import itertools
import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.dodge_burn import SMALLEST_S, Dodge, DoesNotFit, burn_seconds, dodge_seconds, segments
from timer.craft.stops import factor

sizes = st.fractions(min_value=Fraction(1, 24), max_value=Fraction(1, 2), max_denominator=24)


@given(st.floats(1, 100), sizes)
def test_a_dodge_and_a_burn_of_the_same_size_are_the_factor_apart(base: float, stops: Fraction) -> None:
    assert base - dodge_seconds(base, stops) == pytest.approx(base / factor(stops))
    assert base + burn_seconds(base, stops) == pytest.approx(base * factor(stops))


@given(st.floats(1, 100), st.lists(sizes, max_size=3), st.booleans())
def test_each_area_is_held_back_for_its_time_and_the_base_is_whole(base: float, stops: list[Fraction], pair: bool) -> None:
    dodges = [Dodge(f"area {n}", size) for n, size in enumerate(stops)]
    if pair and len(dodges) > 1:
        dodges[1] = Dodge("area 1", stops[1], together="area 0")
    try:
        laid = segments(base, dodges)
    except DoesNotFit:
        assert sum(dodge_seconds(base, size) for size in stops) > base
        return
    assert laid[0].start == 0
    assert laid[-1].end == pytest.approx(base)
    assert all(a.end == b.start for a, b in itertools.pairwise(laid))
    for dodge in dodges:
        held = sum(s.end - s.start for s in laid if dodge.area in s.held)
        longer = held - dodge_seconds(base, dodge.stops)  # by a stretch that is too short to be given by itself
        assert -1e-9 <= longer <= SMALLEST_S


def test_dodges_that_do_not_fit_name_the_ways_out() -> None:
    with pytest.raises(DoesNotFit, match=r"aperture .* burns|burns .* aperture"):
        segments(10, [Dodge("a", Fraction(1)), Dodge("b", Fraction(1)), Dodge("c", Fraction(1, 3))])


def test_a_longer_base_is_offered_only_where_it_helps() -> None:
    dodges = [Dodge("a", Fraction(1, 2)), Dodge("b", Fraction(1, 2)), Dodge("c", Fraction(1, 2))]
    with pytest.raises(DoesNotFit, match=r"base (\d+\.\d) s or more"):
        segments(8, dodges, changeover=1.0)
    # 3 x 0.2929 of the base, and 2 s of changes: 16.5 s is where it begins to fit
    assert segments(16.6, dodges, changeover=1.0)[-1].held == ()
    with pytest.raises(DoesNotFit):
        segments(16.4, dodges, changeover=1.0)


def test_three_hands_are_refused() -> None:
    dodges = [
        Dodge("a", Fraction(1, 4)),
        Dodge("b", Fraction(1, 4), together="a"),
        Dodge("c", Fraction(1, 4), together="a"),
    ]
    for order in (dodges, dodges[::-1]):
        with pytest.raises(ValueError, match="two hands"):
            segments(20, order)
    with pytest.raises(ValueError, match="not another dodge"):
        segments(20, [Dodge("a", Fraction(1, 4), together="a")])


def laid(base: float, dodges: list[Dodge], changeover: float = 0.0) -> list[tuple[float, float, tuple[str, ...]]]:
    return [(round(s.start, 3), round(s.end, 3), s.held) for s in segments(base, dodges, changeover)]


HALF, QUARTER = Fraction(1, 2), Fraction(1, 4)
"""Of 20 s they hold back 20 (1 - 2^-1/2) = 5.858 and 20 (1 - 2^-1/4) = 3.182."""


def test_dodges_by_hand() -> None:
    assert laid(20, []) == [(0, 20, ())]
    one_by_one = [Dodge("a", HALF), Dodge("b", QUARTER)]
    assert laid(20, one_by_one) == [(0, 5.858, ("a",)), (5.858, 9.040, ("b",)), (9.040, 20, ())]
    assert laid(20, one_by_one, 1.0) == [
        (0, 5.858, ("a",)), (5.858, 6.858, ()), (6.858, 10.040, ("b",)), (10.040, 20, ()),
    ]  # fmt: skip
    # a pair begins together, the longer one goes on alone, and the third comes after, wherever it was named
    pair = [Dodge("b", QUARTER), Dodge("c", QUARTER), Dodge("a", HALF, together="b")]
    assert laid(20, pair) == [(0, 3.182, ("b", "a")), (3.182, 5.858, ("a",)), (5.858, 9.040, ("c",)), (9.040, 20, ())]
    assert laid(20, [pair[0], pair[2], pair[1]]) == laid(20, pair)


def test_what_fits_to_the_last_second_fits() -> None:
    whole = [Dodge("a", Fraction(1)), Dodge("b", Fraction(1))]
    assert laid(10, whole) == [(0, 5, ("a",)), (5, 10, ("b",))]
    assert laid(0.5, whole) == [(0, 0.25, ("a",)), (0.25, 0.5, ("b",))]
    # three thirds, which the computer adds up to a little more than ten
    third = Fraction(math.log2(3 / 2))
    assert laid(10, [Dodge(name, third) for name in "abc"])[-1] == (6.667, 10, ("c",))
    with pytest.raises(DoesNotFit, match=r"the dodges \(a -1, b -1\) need 11\.0 s .* base is 10\.0 s: let two of them"):
        segments(10, whole, 1.0)  # no base is long enough for that
    with pytest.raises(DoesNotFit, match=r"need 12\.1 s .*a smaller aperture will not help"):
        segments(10, [*whole, Dodge("c", Fraction(1, 3))])
    with pytest.raises(DoesNotFit, match=r"need 9\.0 s .* base is 8\.0 s: a smaller aperture that makes the base 16\.5 s"):
        segments(8, [Dodge(name, HALF) for name in "abc"], 1.0)


def test_five_thousandths_of_a_second_are_the_least() -> None:
    """A stop more is 0.6931 of the light: 1/5000 of a stop on a quarter makes 2 ms of 20 s, and 1/2000 makes 6."""
    for more, stretches in ((Fraction(1, 5000), 2), (Fraction(1, 2000), 3)):
        made = segments(20, [Dodge("a", QUARTER), Dodge("b", QUARTER + more, together="a")])
        assert len(made) == stretches
        assert made[-2].end == pytest.approx(20 * (1 - 2 ** -float(QUARTER + more)))
    # a clear rest of 3 ms is held back too, and one of 7 ms is clear
    nearly = [Dodge("a", Fraction(1)), Dodge("b", Fraction(1) - Fraction(1, 1000))]
    assert laid(10, nearly) == [(0, 5, ("a",)), (5, 10, ("b",))]
    assert laid(20, nearly)[-1] == (19.993, 20, ())
    assert laid(0.005, []) == [(0, 0.005, ())]
    with pytest.raises(ValueError, match=r"the clear light is 0\.004 s of 0\.004 s; nothing shorter than 0\.005 s"):
        segments(0.004, [])
    with pytest.raises(ValueError, match=r"the dodge of a is 0\.001 s of 20 s"):
        segments(20, [Dodge("a", Fraction(1, 10_000))])
    with pytest.raises(ValueError, match=r"the dodge of b is 0\.001 s of 20 s"):
        segments(20, [Dodge("a", QUARTER), Dodge("b", Fraction(1, 10_000))])
    with pytest.raises(ValueError, match=r"the dodge of a is 0 s of 1 s"):
        segments(1, [Dodge("a", Fraction(-1, 24))])
    with pytest.raises(ValueError, match=r"the dodge of a and b is 0 s of 20 s"):
        segments(20, [Dodge("a", Fraction(0)), Dodge("b", Fraction(0), together="a")])


def test_an_overlap_is_with_another_dodge() -> None:
    with pytest.raises(ValueError, match="'nobody', which is not another dodge"):
        segments(20, [Dodge("a", QUARTER, together="nobody")])
    both = [Dodge("a", QUARTER, together="b"), Dodge("b", QUARTER, together="a")]
    assert laid(20, both) == [(0, 3.182, ("a", "b")), (3.182, 20, ())]


def test_names_are_the_same_however_they_were_come_by() -> None:
    sky = "".join(("s", "ky"))  # equal to the name in the source, and another object, as one that was read is
    with pytest.raises(ValueError, match="not another dodge"):
        segments(20, [Dodge("sky", QUARTER, together=sky)])
    both = [Dodge("sky", QUARTER, together="face"), Dodge("face", QUARTER, together=sky)]
    assert laid(20, both) == [(0, 3.182, ("sky", "face")), (3.182, 20, ())]
