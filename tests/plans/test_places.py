"""Places said one by one: what is offered gives each area the light that it was right with, whichever way is chosen."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.plans.places import BASE, Places, place_text
from timer.plans.strip import strip_plan

COUNT = 7
half = st.integers(0, 2 * (COUNT - 1))


def light(way: object, name: str) -> float:
    """What ``name`` gets: the base, less what is held back, and what is burnt in."""
    from timer.craft.read_by_area import Way

    assert isinstance(way, Way)
    held = sum(d.seconds for d in way.dodges if d.area == name)
    return way.base_s - held + sum(b.seconds for b in way.burns if b.area == name)


@given(
    st.floats(0.5, 60.0),
    st.sampled_from([Fraction(1, 12), Fraction(1, 3), Fraction(5, 12), Fraction(1)]),
    st.dictionaries(st.sampled_from(["sky", "wall", "face", "hat"]), half, min_size=1),
    st.none() | half,
)
def test_each_area_has_its_light_whichever_way(
    seconds: float, step: Fraction, said: dict[str, int], base: int | None
) -> None:
    plan = strip_plan(seconds, step, COUNT, "cover")
    places = Places(6)
    for n, (name, place) in enumerate(said.items()):
        places = places.added(name).put(n, place)
    if base is not None:
        places = places.put(len(said), base)
    offered = places.offered(plan)
    assert offered
    for way in offered:
        for name, place in said.items():
            # by the definition of a stop: so many half steps from the first patch
            assert light(way, name) == pytest.approx(seconds * 2 ** (float(step) * place / 2), rel=1e-9)
        if base is not None:
            assert way.base_s == pytest.approx(seconds * 2 ** (float(step) * base / 2), rel=1e-9)


def test_the_base_holds_alone_then_follows_the_areas_until_it_is_said() -> None:
    plan = strip_plan(10.0, Fraction(1, 2), 3, "cover")
    places = Places(2)
    assert places.base_counts and places.offered(plan) == ()
    places = places.added("window")
    assert (places.names, places.at(0), places.base_counts) == (("window", BASE), 2, False)
    assert len(places.put(0, 4).added("wall").offered(plan)) == 2
    said = places.put(1, 3)
    assert [way.how for way in said.offered(plan)] == ["both"]
    assert not said.removed(1).base_counts
    assert places.removed(0).names == (BASE,)


@pytest.mark.parametrize("name", ["", "  ", "base", "whole", "window", "x" * 61])
def test_what_is_no_name(name: str) -> None:
    with pytest.raises(ValueError, match="name|there already|a row of its own"):
        Places(0).added("window").added(name)


def test_as_it_is_said() -> None:
    assert [place_text(place) for place in (0, 1, 4)] == ["1", "1½", "3"]
