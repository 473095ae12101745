"""Split grade: a strip of the second grade over the first exposure, the two numbers, filters grouped."""

from fractions import Fraction
from pathlib import Path

import pytest

from tests.conftest import Run
from timer.craft.dodge_burn import dodge_seconds
from timer.documents.recipe import Burn, Edges, Filters, Paper, Recipe
from timer.documents.recipe_file import load_recipe, parse_recipe, recipe_toml
from timer.documents.recipe_light import filters_text
from timer.errors import LamphouseError
from timer.plans.print import print_plan
from timer.plans.split_grade import second_strip, split_of, split_recipe
from timer.plans.strip import strip_plan

SOFT, HARD = Filters(grade="00"), Filters(grade="5")
PRINT = Recipe(recipe=1, title="Stair", base_s=8.0, paper=Paper("bw"), filters=Filters(grade="2"))


@pytest.mark.parametrize("way", ["cover", "uncover", "window"])
def test_every_patch_has_the_first_exposure_and_its_own_second(way: str) -> None:
    plan = second_strip(SOFT, 12.0, HARD, 2.0, Fraction(1, 2), 5, way)  # type: ignore[arg-type]
    first = [step for step in plan.steps if step.do == "expose" and step.filters == "grade 00"]
    assert [(step.area, step.seconds) for step in first] == [("patches 1 to 5", 12.0)]
    alone = strip_plan(2.0, Fraction(1, 2), 5, way)  # type: ignore[arg-type]
    second = [step for step in plan.steps if step.do == "expose" and step.filters == "grade 5"]
    assert [(s.area, s.seconds) for s in second] == [(s.area, s.seconds) for s in alone.steps if s.do == "expose"]
    assert plan.patches == alone.patches
    changes = [step.say for step in plan.steps if step.do == "wait" and "filters to" in step.say]
    assert [say.split(";")[0] for say in changes] == ["filters to grade 00", "filters to grade 5"]


def test_what_is_no_second_strip() -> None:
    with pytest.raises(ValueError, match="both exposures are through grade 5"):
        second_strip(HARD, 12.0, HARD, 2.0, Fraction(1, 2), 5, "cover")
    with pytest.raises(ValueError, match="more than 0 seconds"):
        second_strip(SOFT, 0.0, HARD, 2.0, Fraction(1, 2), 5, "cover")


def test_the_two_numbers_make_the_print() -> None:
    made = split_recipe(PRINT, SOFT, 12.0, HARD, 4.0)
    given = [(step.area, step.filters, step.seconds) for step in print_plan(made).steps if step.do == "expose"]
    assert given == [("base", "grade 00", 12.0), ("whole sheet", "grade 5", 4.0)]
    again = split_recipe(made, SOFT, 10.0, HARD, 5.0)
    assert (again.base_s, split_of(again).seconds, len(again.burn)) == (10.0, 5.0, 1)  # type: ignore[union-attr]
    assert split_of(PRINT) is None


def test_a_filter_goes_in_once() -> None:
    burns = (
        Burn("whole sheet", seconds=4.0, filters=HARD),
        Burn("window", stops=Fraction(1, 3)),
        Burn("lamp", seconds=2.0, filters=HARD),
        Burn("coat", seconds=2.0, filters=Filters(grade="0")),
        Burn("floor", stops=Fraction(1, 2)),
    )
    recipe = Recipe(
        recipe=1, title="Stair", base_s=8.0, paper=Paper("bw"), filters=SOFT, burn=burns, edges=Edges(Fraction(1, 4), ("top",))
    )  # fmt: skip
    steps = [step for step in print_plan(recipe).steps if step.do == "expose"]
    assert [step.area for step in steps] == ["base", "window", "floor", "top edge", "whole sheet", "lamp", "coat"]
    changes = [step.say for step in print_plan(recipe).steps if step.do == "wait" and step.say.startswith("filters")]
    assert changes == ["filters to grade 5; burn whole sheet", "filters to grade 0; burn coat"]


def test_the_printers_own_order_stays() -> None:
    import msgspec

    burns = (Burn("whole sheet", seconds=4.0, filters=HARD), Burn("window", stops=Fraction(1, 3)))
    recipe = msgspec.structs.replace(PRINT, filters=SOFT, burn=burns, order=("whole sheet", "window"))
    assert [s.area for s in print_plan(recipe).steps if s.do == "expose"] == ["base", "whole sheet", "window"]


def test_from_strip_to_print_at_the_command_line(lamphouse: Run, tmp_path: Path) -> None:
    lamphouse(
        "strip", "--from", "2", "--step", "1/2", "--patches", "4", "--grade", "5", "--over", "12", "--over-grade", "00",
        "--negative", "stair", "--advance", "auto", "--pause", "0", "--speed", "100",
    )  # fmt: skip
    path = tmp_path / "stair.toml"
    lamphouse("read", "1", "picture=2", "lamp=4", "--way", "burn", "-o", str(path))
    recipe = load_recipe(path)
    assert (recipe.base_s, filters_text(recipe.filters)) == (12.0, "grade 00")
    given = [(s.area, s.filters, s.seconds) for s in print_plan(recipe).steps if s.do == "expose"]
    assert given[1:] == [
        ("whole sheet", "grade 5", pytest.approx(2 * 2**0.5, abs=1e-3)),
        ("lamp", "grade 5", pytest.approx(2 * 2**1.5 - 2 * 2**0.5, abs=1e-3)),
    ]
    other = tmp_path / "other.toml"
    lamphouse("read", "1", "base=3", "coat=2", "-o", str(other))
    (whole,) = load_recipe(other).burn
    assert (whole.seconds, [(d.area, d.stops) for d in whole.dodge]) == (4.0, [("coat", Fraction(-1, 2))])
    assert "needs its seconds and its grade" in lamphouse("strip", "--from", "2", "--over", "3", check=2).stderr


SECOND = """
recipe = 1
title = "Stair"
base_s = 12.0
[paper]
kind = "bw"
[filters]
grade = "00"
[[dodge]]
area = "coat"
stops = "1/3"
[[burn]]
area = "whole sheet"
seconds = 8.0
filters = {{ grade = "5" }}
dodge = [{dodge}]
"""
WINDOW = '{ area = "window", stops = "1/2", tool = "card", outline = { ellipse = [0.7, 0.3, 0.1, 0.1], feather = 0 } }'


def test_dodges_in_either_pass() -> None:
    recipe = parse_recipe(SECOND.format(dodge=WINDOW))
    assert parse_recipe(recipe_toml(recipe)) == recipe
    soft, hard = [step for step in print_plan(recipe).steps if step.do == "expose"]
    held = dodge_seconds(12.0, Fraction(1, 3)), dodge_seconds(8.0, Fraction(1, 2))
    assert (soft.say, soft.seconds, soft.filters) == ("base: hold back coat", 12.0, "grade 00")
    assert (hard.say, hard.seconds, hard.filters) == ("whole sheet: hold back window (card)", 8.0, "grade 5")
    for step, until in zip((soft, hard), held, strict=True):
        assert [(m.at, m.say) for m in step.marks if m.cue == "change"] == [(pytest.approx(until), "all clear")]
    (wait,) = [step for step in print_plan(recipe).steps if step.do == "wait" and step.area == "whole sheet"]
    assert wait.say == "filters to grade 5; burn whole sheet, hold back window (card)"


def test_what_is_held_back_in_the_second_pass_lacks_that_light_on_the_sheet() -> None:
    from timer.bench.sheet import light_maps

    for dodging in ("run-through", "stop-start"):
        text = SECOND.format(dodge=WINDOW).replace("base_s", f'dodging = "{dodging}"\nbase_s')
        recipe = parse_recipe(text)
        maps = light_maps(print_plan(recipe), recipe, 200, 160)
        assert maps["grade 5"][48, 140] == pytest.approx(8.0 / 2**0.5, rel=1e-3)
        assert maps["grade 5"][120, 30] == pytest.approx(8.0, rel=1e-3)
        assert maps["grade 00"][48, 140] == pytest.approx(12.0, rel=1e-3)


@pytest.mark.parametrize(
    ("dodge", "says"),
    [
        ('{ area = "window", stops = 0 }', "does nothing"),
        ('{ area = "a", stops = 1 }, { area = "a", stops = 1 }', "named twice"),
        ('{ area = "a", stops = 1 }, { area = "b", stops = 2 }', "one after another"),
    ],
)
def test_what_no_second_pass_can_hold_back(dodge: str, says: str) -> None:
    with pytest.raises(LamphouseError, match=says):
        parse_recipe(SECOND.format(dodge=dodge))
    with pytest.raises(LamphouseError, match="for a second exposure"):
        parse_recipe(SECOND.format(dodge=WINDOW).replace('seconds = 8.0\nfilters = { grade = "5" }', 'stops = "1/3"'))
