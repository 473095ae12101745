import itertools
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
    with pytest.raises(ValueError, match="two hands"):
        segments(20, dodges)
    with pytest.raises(ValueError, match="not another dodge"):
        segments(20, [Dodge("a", Fraction(1, 4), together="a")])
