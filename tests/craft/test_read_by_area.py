"""A test sheet read by area: the amounts against the definition of a stop, and what hands can do with them."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.dodge_burn import Dodge, segments
from timer.craft.read_by_area import Area, Way, at_an_end, parse_place, read_areas, ways

THIRDS = [(Fraction(n, 3), 8 * 2 ** (n / 3)) for n in range(5)]


def areas(**places: str) -> tuple[Area, ...]:
    return read_areas(THIRDS, [(area, parse_place(place)) for area, place in places.items()])


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("3", 3),
        ("3.5", 3.5),
        ("3-4", 3.5),
        ("3–4", 3.5),
        ("between 3 and 4", 3.5),
        ("3 to 4", 3.5),
        ("3½", 3.5),
        ("3 1/4", 3.25),
    ],
)
def test_places_as_they_are_said(text: str, place: float) -> None:
    assert parse_place(text) == Fraction(place)


@pytest.mark.parametrize("text", ["", "x", "3-", "-3", "3-4-5", "1e5", "3/0", "3 1/0", "nan", "9" * 99, "3 or 4"])
def test_what_is_no_place(text: str) -> None:
    with pytest.raises(ValueError, match="is not a place on a strip"):
        parse_place(text)


def test_window_4_wall_2_and_a_half_face_between_3_and_4() -> None:
    burn, dodge = ways(areas(window="4", wall="2.5", face="3-4"))
    # 8 s and thirds of a stop: patch 4 is 16 s; 2.5 is half a stop less, 16 / sqrt 2
    assert (burn.how, burn.base_s, burn.as_base) == ("burn", pytest.approx(16 / math.sqrt(2)), ("wall",))
    assert [(b.area, b.stops) for b in burn.burns] == [("window", Fraction(1, 2)), ("face", Fraction(1, 3))]
    assert [b.seconds for b in burn.burns] == pytest.approx([16 - 11.3137, 16 / 2 ** (1 / 6) - 11.3137], abs=1e-3)
    assert (dodge.how, dodge.base_s, dodge.as_base) == ("dodge", pytest.approx(16), ("window",))
    assert [(d.area, d.stops) for d in dodge.dodges] == [("wall", Fraction(-1, 2)), ("face", Fraction(-1, 6))]
    assert [d.seconds for d in dodge.dodges] == pytest.approx([16 - 11.3137, 16 - 16 / 2 ** (1 / 6)], abs=1e-3)
    assert not burn.conflicts
    assert "face (-1/6) lasts 1.75 s" in dodge.conflicts[0]  # so the other is the easier
    assert (burn.changes, dodge.changes) == (2, 4)


PLACES = st.lists(st.integers(4, 20).map(lambda n: Fraction(n, 4)), min_size=1, max_size=6)


@given(PLACES)
def test_every_way_gives_each_area_the_light_that_was_read(places: list[Fraction]) -> None:
    found = read_areas(THIRDS, [(f"area {n}", place) for n, place in enumerate(places)])
    for way in ways(found):
        local = {d.area: -d.seconds for d in way.dodges} | {b.area: b.seconds for b in way.burns}
        assert set(local) | set(way.as_base) == {area.area for area in found}
        for area in found:
            assert way.base_s + local.get(area.area, 0.0) == pytest.approx(area.seconds)
        if way.fits and way.dodges:  # what fits here is what a recipe can be made of
            segments(way.base_s, [Dodge(d.area, -d.stops) for d in way.dodges])
        assert all(d.seconds >= 0 for d in (*way.dodges, *way.burns))


def test_a_base_that_was_read_has_dodges_and_burns() -> None:
    found = areas(window="4", wall="2", picture="3")
    (way,) = ways(found[:2], found[2])
    assert (way.how, way.base_s) == ("both", pytest.approx(8 * 2 ** (2 / 3)))
    assert [(d.area, d.stops) for d in way.dodges] == [("wall", Fraction(-1, 3))]
    assert [(b.area, b.stops) for b in way.burns] == [("window", Fraction(1, 3))]


def test_the_higher_base_is_one_that_hands_can_dodge_from() -> None:
    # from patch 5 wall would be held back for more than half of the base; from patch 3 it can be
    dodge = next(way for way in ways(areas(window="5", wall="1", face="3")) if way.how == "dodge")
    assert dodge.as_base == ("face",)
    assert [d.area for d in dodge.dodges] == ["wall"]
    assert [b.area for b in dodge.burns] == ["window"]


def test_what_cannot_be_dodged_is_said() -> None:
    wide = ways(read_areas([(Fraction(0), 4.0), (Fraction(3), 32.0)], [("a", Fraction(1)), ("b", Fraction(2))]))
    burn, dodge = wide
    assert (burn.how, dodge.how) == ("burn", "dodge")
    assert "more than half of the base" in dodge.conflicts[0]
    assert burn.conflicts == ()
    many = [(f"area {n}", Fraction(1)) for n in range(3)]
    crowded = ways(read_areas(THIRDS, [*many, ("top", Fraction(4))]))
    dodge = next(way for way in crowded if way.how == "dodge")
    assert not dodge.fits
    assert "hands do one thing at a time" in dodge.conflicts[0]
    assert crowded[0].how == "burn"


def test_alike_areas_need_nothing() -> None:
    (way,) = ways(areas(a="3", b="3"))
    assert (way.burns, way.dodges, way.as_base) == ((), (), ("a", "b"))


def test_ends_are_told() -> None:
    assert [says.split()[0] for says in at_an_end(areas(a="1", b="3", c="5"), 5)] == ["a", "c"]


def test_what_cannot_be_read() -> None:
    with pytest.raises(ValueError, match="place 6 is not on a strip of 5"):
        areas(a="6")
    with pytest.raises(ValueError, match="read twice"):
        read_areas(THIRDS, [("a", Fraction(1)), ("a", Fraction(2))])
    with pytest.raises(ValueError, match="longer and longer"):
        read_areas([(Fraction(0), 8.0), (Fraction(0), 8.0)], [("a", Fraction(1))])
    with pytest.raises(ValueError, match="no area was read"):
        ways(())


def test_places_of_twelve_signs_and_parts_alone() -> None:
    assert [parse_place(text) for text in ("½", "2⅔", "3-4½", "000000000003")] == [
        Fraction(1, 2), Fraction(8, 3), Fraction(15, 4), 3,
    ]  # fmt: skip
    with pytest.raises(ValueError, match="is not a place on a strip"):
        parse_place("0000000000003")


def test_a_strip_that_is_not_even_and_begins_elsewhere() -> None:
    """16 s at +1, 32 at +2, 128 at +4: half-way from the second to the third is +3, two stops from the first, 64 s."""
    uneven = [(Fraction(1), 16.0), (Fraction(2), 32.0), (Fraction(4), 128.0)]
    found = read_areas(uneven, [("a", Fraction(2)), ("b", Fraction(5, 2)), ("c", Fraction(3))])
    assert [(area.stops, area.seconds) for area in found] == [(1, 32), (2, 64), (3, 128)]
    for place in (Fraction(1, 2), Fraction(13, 4)):
        with pytest.raises(ValueError, match=r"a: place (0\.5|3\.25) is not on a strip of 3 patches; say 1 to 3"):
            read_areas(uneven, [("a", place)])
    for wrong in (uneven[:1], uneven[::-1]):
        with pytest.raises(ValueError, match="longer and longer"):
            read_areas(wrong, [("a", Fraction(1))])
    with pytest.raises(ValueError, match="'a' is read twice"):
        read_areas(uneven, [("b", Fraction(1)), ("a", Fraction(1)), ("a", Fraction(2))])


def from_base(base: float, *stops: float) -> Way:
    """The one way from a base that was read, with an area for each of ``stops`` from it."""
    found = [Area(f"a{n}", Fraction(1), Fraction(s), base * 2**s) for n, s in enumerate(stops, 1)]
    return ways(found, Area("all", Fraction(1), Fraction(0), base))[0]


SHORT = "short for hands: a smaller aperture makes it 2 s or more"


def test_two_seconds_are_enough_for_hands() -> None:
    """A dodge of a stop is half of its base, a burn of a stop all of it. The two seconds are common practice."""
    assert from_base(4, -1).conflicts == ()
    assert from_base(3.98, -1).conflicts == (
        f"the dodge of a1 (-1) lasts 1.99 s, {SHORT}", f"the light after the last dodge lasts 1.99 s, {SHORT}",
    )  # fmt: skip
    assert from_base(2, 1).conflicts == ()
    assert from_base(1.99, 1).conflicts == (f"the burn of a1 (+1) lasts 1.99 s, {SHORT}",)


def test_half_of_the_base_can_be_held_back_and_all_of_it_by_two() -> None:
    assert from_base(10, -1).conflicts == ()
    assert from_base(10, -25 / 24).conflicts == (
        "a1 -1.04 is held back for 5.1 s, more than half of the base of 10.0 s: take a lower base and burn the rest",
    )
    both = from_base(10, -1, -1)
    assert (both.fits, both.conflicts) == (True, ())
    over = from_base(10, -1, -1, -0.5)
    assert over.fits is False
    assert over.conflicts == (
        "the dodges need 12.9 s one after another, and the base is 10.0 s: hands do one thing at a time",
    )
    # what is left of the base after two dodges: 0.06 s is too short, 0.04 s is nothing
    for rest, says in ((0.06, (f"the light after the last dodge lasts 0.0600 s, {SHORT}",)), (0.04, ()), (2.01, ())):
        assert from_base(10, -1, math.log2(0.5 + rest / 10)).conflicts == says


def test_dodges_begin_with_the_longest_and_burns_come_as_they_are_said() -> None:
    way = from_base(10, -0.5, 0.5, -1, 1, 0)
    assert [d.area for d in way.dodges] == ["a3", "a1"]
    assert [b.area for b in way.burns] == ["a2", "a4"]
    assert way.as_base == ("a5",)
    assert way.changes == 2 * 2 + 2
    assert way.light_s == pytest.approx(10 * 2**0.5 + 10)


def test_a_stop_can_be_dodged_from_the_top() -> None:
    dodge = next(way for way in ways(areas(window="4", wall="1")) if way.how == "dodge")
    assert (dodge.base_s, dodge.as_base, dodge.burns) == (pytest.approx(16), ("window",), ())


def test_the_ends_are_told_in_words() -> None:
    assert at_an_end(areas(a="1", b="1.5", c="4.5", d="5"), 5) == (
        "a was right on the lightest patch: if it is still too dark there, test lower",
        "d was right on the darkest patch: if it is still too light there, test higher",
    )


def test_thirds_of_any_base_fit_whatever_the_last_digit() -> None:
    third = math.log2(3 / 2)
    for n in range(400):
        way = from_base(6.01 + n / 37, -third, -third, -third)
        assert (way.fits, way.conflicts) == (True, ())


def test_a_second_too_much_is_too_much() -> None:
    way = from_base(10, -1, -1, math.log2(0.96))
    assert way.fits is False
    assert "the dodges need 10.4 s one after another, and the base is 10.0 s" in way.conflicts[0]


def test_half_of_the_top_can_be_held_back_and_not_a_little_more() -> None:
    """From 16 s wall is held back for 8 s, just its half, and face for 5.9 s: that fits. From 2.5 s half is 1.26 s."""
    dodge = next(way for way in ways(areas(window="4", wall="1", face="2")) if way.how == "dodge")
    assert (dodge.as_base, [d.area for d in dodge.dodges]) == (("window",), ["wall", "face"])
    faint = read_areas([(stops, seconds / 8) for stops, seconds in THIRDS], [
        ("window", Fraction(5)), ("wall", Fraction(1)), ("face", Fraction(3)),
    ])  # fmt: skip
    assert next(way for way in ways(faint) if way.how == "dodge").as_base == ("face",)
