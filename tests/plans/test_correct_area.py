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
from timer.plans.correct_area import amount_of, areas_of, correct, parse_correction
from timer.plans.print import print_plan

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
    assert str(made.corrections[0]) == "lamp +1 of that burn alone: burn, 4.00 s -> burn, 8.00 s"


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
    two = correct(one, [("window", Fraction(-1, 4)), ("wall", Fraction(-1, 12))])
    assert [(c.area, c.given, c.last) for c in two.corrections] == [
        ("window", -THIRD / 2, THIRD),
        ("wall", Fraction(-1, 12), Fraction(-1, 12)),
    ]
    less = correct(one, [("window", Fraction(-1, 24))])  # what is asked is no more than half: so it is
    assert less.corrections[0].given == Fraction(-1, 24)
    three = correct(two.recipe, [("window", Fraction(1, 6))])
    assert three.corrections[0].given == THIRD / 4
    exact = correct(two.recipe, [("window", Fraction(1, 6))], exact=True)
    assert exact.corrections[0].given == Fraction(1, 6)
    assert "half of the last change back" in str(three.corrections[0])
    kept = correct(two.recipe, [("print", THIRD)]).recipe
    assert kept.derived and {row.area: row.stops for row in kept.derived.areas}["window"] == -THIRD / 2


def held_and_burnt() -> Recipe:
    return msgspec.structs.replace(
        STAIR, base_s=10.0, dodge=(Dodge("w", Fraction(1)),), burn=(Burn("w", Fraction(1, 6)),), order=()
    )


def test_what_is_held_back_and_burnt_in_by_its_light() -> None:
    # 10 s, held back by a stop: 5 s; burnt by 1/6: 10 (2^1/6 - 1) = 1.2246 s. A third more of 6.2246 s is 7.8425 s, so
    # the burn is 2.8425 s: log2 1.28425 = 0.3609 stop of the base.
    made = correct(held_and_burnt(), [("w", THIRD)]).recipe
    assert made.dodge == held_and_burnt().dodge
    assert made.burn == (Burn("w", Fraction(36, 100)),)
    with pytest.raises(LamphouseError, match="held back already"):
        correct(held_and_burnt(), [("w", Fraction(-1))])


SPLIT = Recipe(
    recipe=1,
    title="Stair",
    base_s=6.0,
    paper=Paper("bw"),
    filters=Filters(grade="00"),
    burn=(Burn("whole sheet", seconds=6.0, filters=Filters(grade="5"), dodge=(Dodge("window", THIRD, tool="card"),)),),
)


def split_light(recipe: Recipe, area: str) -> tuple[float, float]:
    """Seconds through 00 and through 5 on ``area``, counted from the rows of the recipe alone."""
    soft = recipe.base_s * (
        sum(2.0 ** -abs(d.stops) for d in recipe.dodge if d.area == area)
        or 1 + sum(2.0**b.stops - 1 for b in recipe.burn if b.area == area and b.stops)
    )
    hard = 0.0
    for burn in recipe.burn:
        if burn.area == "whole sheet":
            hard += (burn.seconds or 0) * (sum(2.0 ** -abs(d.stops) for d in burn.dodge if d.area == area) or 1)
        elif burn.area in (area, f"{area}, grade 5") and burn.seconds:
            hard += burn.seconds
    return soft, hard


def test_a_split_grade_print_is_corrected_in_both_exposures() -> None:
    # 6 s of 00 and, held back by a third, 6 / 2^1/3 = 4.762 s of 5. A third more: 7.560 s (a burn of a third) and 6 s.
    made = correct(SPLIT, [("window", THIRD)])
    (said,) = made.corrections
    assert str(said) == ("window +1/3: as the base -> burn +1/3, 1.56 s; through grade 5: dodge -1/3 -> as that exposure")
    assert split_light(made.recipe, "window") == pytest.approx((6 * 2 ** (1 / 3), 6.0))
    again = correct(made.recipe, [("window", THIRD)])
    assert split_light(again.recipe, "window") == pytest.approx((6 * 2 ** (2 / 3), 6 * 2 ** (1 / 3)), rel=1e-3)
    assert "burn 1.56 s" in str(again.corrections[0])


@given(st.sampled_from(("window", "wall")), st.lists(st.integers(-6, 6).filter(bool), min_size=1, max_size=4))
def test_any_area_of_a_split_grade_print_keeps_its_contrast(area: str, twelfths: list[int]) -> None:
    made, (soft, hard) = SPLIT, split_light(SPLIT, area)
    for each in twelfths:
        made = correct(made, [(area, Fraction(each, 12))], exact=True).recipe
        soft, hard = soft * 2 ** (each / 12), hard * 2 ** (each / 12)
        assert split_light(made, area) == pytest.approx((soft, hard), rel=0.01)  # a hundredth of a stop is 0.7 %
        assert parse_recipe(recipe_toml(made)) == made
        assert split_light(made, "floor") == split_light(SPLIT, "floor")


def test_what_else_a_split_grade_print_has() -> None:
    both = correct(SPLIT, [("whole sheet", THIRD)]).recipe  # the second exposure alone, as it is named
    assert split_light(both, "floor") == pytest.approx((6.0, 6 * 2 ** (1 / 3)), abs=1e-3)
    edges = correct(SPLIT, [("edges", THIRD)])
    assert str(edges.corrections[0]).endswith("; through grade 00 alone")
    assert areas_of(SPLIT) == ("window", "whole sheet")
    burnt = msgspec.structs.replace(SPLIT, burn=(*SPLIT.burn, Burn("lamp", seconds=3.0, filters=Filters(grade="5"))))
    lamp = correct(burnt, [("lamp", Fraction(1))])
    assert areas_of(lamp.recipe) == ("window", "whole sheet", "lamp")
    assert split_light(lamp.recipe, "lamp, grade 00")[0] == 12.0  # 6 s more through 00
    assert split_light(lamp.recipe, "lamp")[1] == 18.0  # 6 + 3 = 9 s of 5, doubled
    more = correct(lamp.recipe, [("lamp", Fraction(1))]).recipe
    assert split_light(more, "lamp, grade 00")[0] == 24.0
    assert split_light(more, "lamp")[1] == 36.0


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


def test_what_is_told_of_an_area_is_what_will_be_given() -> None:
    """With 9 % of dry-down 12 s of 5 are 10.92 s, and the print a sixth lighter leaves of that 10.92 / 2^1/6 = 9.729 s. The
    sky a quarter more: in it 9.729 (2^1/4 - 1) = 1.841 s; in the base 8 s are 7.28 and then 6.486 s, and a burn of a half
    and a quarter is 6.486 (2^3/4 - 1) = 4.422 s, where 7.28 (2^1/2 - 1) = 3.015 s were."""
    whole = Burn("whole sheet", seconds=12.0, filters=Filters(grade="5"))
    recipe = Recipe(
        recipe=1, title="Stair", base_s=8.0, paper=Paper("bw"), filters=Filters(grade="00"), dry_down_percent=9.0,
        burn=(whole, Burn("sky", Fraction(1, 2))),
    )  # fmt: skip
    made = correct(recipe, [("sky", Fraction(1, 4)), ("print", Fraction(-1, 6))])
    sky, all_of_it = map(str, made.corrections)
    assert sky == "sky +1/4: burn +1/2, 3.02 s -> burn +3/4, 4.42 s; through grade 5: as that exposure -> burn 1.84 s"
    assert all_of_it == "print -1/6: base, 7.28 s -> base, 6.49 s"
    lit = {step.area: step.seconds for step in print_plan(made.recipe).steps if step.do == "expose"}
    assert (lit["sky"], lit["sky, grade 5"]) == pytest.approx((4.422, 1.841), abs=1e-3)
    other = correct(recipe, [("print", Fraction(-1, 6)), ("sky", Fraction(1, 4))]).recipe
    assert (other.base_s, other.burn) == (made.recipe.base_s, made.recipe.burn)
