"""One area corrected: stops add up, the light on every other area stays, a turned direction is halved."""

from fractions import Fraction

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.stops import factor
from timer.documents.recipe import Burn, Dodge, Edges, Filters, Paper, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.errors import LamphouseError
from timer.plans.correct_area import amount_of, correct, parse_correction

THIRD = Fraction(1, 3)
STAIR = Recipe(
    recipe=1,
    title="Stair",
    base_s=16.0,
    paper=Paper("bw"),
    dodge=(Dodge("wall", THIRD, tool="card", motion="slow"), Dodge("coat", Fraction(1, 4), together="wall")),
    burn=(Burn("window", Fraction(2, 3), tool="hole"), Burn("lamp", seconds=4.0, filters=Filters(grade="5"))),
    order=("wall", "window"),
)
LOCAL = ("wall", "window", "floor")


def light_on(recipe: Recipe, area: str) -> float:
    """Full-light seconds on ``area``, by the definition of dodge and burn."""
    return recipe.base_s * factor(amount_of(recipe, area).stops or Fraction(0))


@given(st.sampled_from(LOCAL), st.integers(-8, 12).filter(bool))
def test_only_that_area_changes_and_by_so_much(area: str, twelfths: int) -> None:
    stops = Fraction(twelfths, 12)
    made = correct(STAIR, [(area, stops)]).recipe
    for other in (*LOCAL, "coat"):
        change = factor(stops) if other == area else 1.0
        assert light_on(made, other) == pytest.approx(light_on(STAIR, other) * change)
    assert made.base_s == STAIR.base_s
    assert parse_recipe(recipe_toml(made)) == made


def test_a_dodge_that_is_too_much_becomes_a_burn_and_keeps_its_tool() -> None:
    made = correct(STAIR, [("wall", Fraction(1, 2))])
    (burn,) = [b for b in made.recipe.burn if b.area == "wall"]
    assert (burn.stops, burn.tool, burn.motion) == (Fraction(1, 6), "card", "slow")
    (coat,) = made.recipe.dodge
    assert coat.together == ""  # its partner is gone
    (said,) = made.corrections
    # 16 s: a dodge of 1/3 holds back 16 (1 - 2^-1/3) = 3.30 s; a burn of 1/6 adds 16 (2^1/6 - 1) = 1.96 s
    assert str(said) == "wall +1/2: dodge -1/3, 3.30 s -> burn +1/6, 1.96 s"


def test_what_comes_to_nothing_goes() -> None:
    made = correct(STAIR, [("window", Fraction(-2, 3))])
    assert [b.area for b in made.recipe.burn] == ["lamp"]
    assert made.recipe.order == ("wall",)
    assert str(made.corrections[0].new) == "as the base"


def test_a_burn_in_seconds_by_its_own_time() -> None:
    made = correct(STAIR, [("lamp", Fraction(1))])
    assert amount_of(made.recipe, "lamp").seconds == pytest.approx(8.0)
    assert str(made.corrections[0]) == "lamp +1: burn, 4.00 s -> burn, 8.00 s"


def test_the_whole_print_and_its_edges() -> None:
    made = correct(STAIR, [("print", Fraction(1)), ("edges", Fraction(1, 6))]).recipe
    assert made.base_s == pytest.approx(32)
    assert made.edges == Edges(Fraction(1, 6))
    assert amount_of(made, "lamp").seconds == pytest.approx(8.0)
    gone = correct(made, [("edges", Fraction(-1, 6))], exact=True).recipe
    assert gone.edges is None
    with pytest.raises(LamphouseError, match="no more can be taken away"):
        correct(made, [("edges", Fraction(-1, 2))], exact=True)


def test_each_row_has_its_own_direction_and_is_halved_when_it_turns() -> None:
    # halving on reversal is common practice, no source
    one = correct(STAIR, [("window", THIRD), ("wall", Fraction(-1, 12))]).recipe
    two = correct(one, [("window", Fraction(-1, 12)), ("wall", Fraction(-1, 12))])
    assert [(c.area, c.given, c.last) for c in two.corrections] == [
        ("window", -THIRD / 2, THIRD),
        ("wall", Fraction(-1, 12), Fraction(-1, 12)),
    ]
    three = correct(two.recipe, [("window", Fraction(1, 6))])
    assert three.corrections[0].given == THIRD / 4
    exact = correct(two.recipe, [("window", Fraction(1, 6))], exact=True)
    assert exact.corrections[0].given == Fraction(1, 6)
    assert "half of the last change back" in str(three.corrections[0])
    kept = correct(two.recipe, [("print", THIRD)]).recipe
    assert kept.derived and {row.area: row.stops for row in kept.derived.areas}["window"] == -THIRD / 2


@pytest.mark.parametrize("text", ["window", "window 1/3", "+1/3", "window +", "window +x", "window +0", "window +99"])
def test_what_is_no_correction(text: str) -> None:
    with pytest.raises(ValueError, match="window|not a correction"):
        parse_correction(text)


def test_corrections_as_they_are_said() -> None:
    assert parse_correction("left wall -1 1/2") == ("left wall", Fraction(-3, 2))
    assert parse_correction("window +½") == ("window", Fraction(1, 2))
    assert parse_correction("window −1/3") == ("window", -THIRD)


def test_what_cannot_be_made_is_said() -> None:
    with pytest.raises(LamphouseError, match="corrected twice"):
        correct(STAIR, [("window", THIRD), ("window", THIRD)])
    with pytest.raises(LamphouseError, match="dodges"):
        correct(STAIR, [("wall", Fraction(-3)), ("floor", Fraction(-3))])
    both = msgspec.structs.replace(STAIR, burn=(Burn("wall", THIRD),), order=())
    with pytest.raises(LamphouseError, match="held back already"):
        correct(both, [("wall", Fraction(-1))])
