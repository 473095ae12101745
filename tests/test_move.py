from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.dodge_burn import burn_seconds, dodge_seconds
from timer.craft.filters import Pack
from timer.errors import Refused
from timer.move import Box, Target, move, moved_json
from timer.plan import print_plan
from timer.recipe import parse_recipe, recipe_toml

COLOUR = """
recipe = 1
title = "Harbour"
base_s = 10.0
[paper]
kind = "ra4"
[enlargement]
frame = "24x36mm"
sheet = "8x10in"
lens_mm = 50
aperture = 8
detail_negative_mm = 24
detail_print_mm = 190.5
[filters]
m = 60
y = 45
head = "dial"
[[dodge]]
area = "face"
stops = "1/4"
[[burn]]
area = "sky"
stops = "1/2"
"""
SILVER = """
recipe = 1
title = "Gate"
base_s = 10.0
[paper]
kind = "silver"
speed = 200
[enlargement]
frame = "6x6"
sheet = "8x10in"
aperture = 11
[filters]
grade = "2"
[[burn]]
area = "sky"
seconds = 6
filters = { grade = "00" }
[flash]
seconds = 1.5
"""


def test_the_trades_worked_example() -> None:
    # 35 mm cropped, short image side 7.5 in to 11.5 in; arithmetic on (M + 1)^2: 10.0, 21.7, opened 10.9, new box 11.7 s
    recipe = parse_recipe(COLOUR)
    bigger = move(recipe, Target(sheet="12x16in", detail_print_mm=292.1))
    assert bigger.magnification == pytest.approx((7.94, 12.17), abs=0.01)
    assert bigger.size == pytest.approx(2.172, abs=0.001)
    assert bigger.recipe.base_s == pytest.approx(21.7, abs=0.05)
    opened = move(recipe, Target(sheet="12x16in", detail_print_mm=292.1, aperture=5.6))
    assert opened.recipe.base_s == pytest.approx(10.9, abs=0.05)
    box = Box("new", 1.08, Pack(m=-5))
    boxed = move(recipe, Target(sheet="12x16in", detail_print_mm=292.1, aperture=5.6, box=box))
    assert boxed.recipe.base_s == pytest.approx(11.7, abs=0.05)
    assert (boxed.recipe.filters.m, boxed.recipe.filters.y) == (55, 45)
    assert boxed.filters == 1  # no magenta rule on top of a measured ratio
    base = boxed.recipe.base_s
    assert dodge_seconds(base, Fraction(1, 4)) == pytest.approx(1.87, abs=0.01)
    assert burn_seconds(base, Fraction(1, 2)) == pytest.approx(4.86, abs=0.01)
    assert any("dodge of face" in line for line in boxed.advice)
    # lens to paper 658 mm, negative to paper 713 mm for f = 50 at M = 12.17
    assert (bigger.lens_to_paper_mm, bigger.negative_to_paper_mm) == pytest.approx((658, 713), abs=1)


def test_common_practice_eight_by_ten_at_f11_to_twelve_by_sixteen_at_f8() -> None:
    # common practice, no source: 7 to 10 s at f/11 on 8x10 need about the same or a little more at f/8 on 12x16
    recipe = parse_recipe(
        COLOUR.replace("aperture = 8", "aperture = 11").replace("detail_negative_mm = 24\ndetail_print_mm = 190.5\n", "")
    )
    moved = move(recipe, Target(sheet="12x16in", aperture=8))
    assert 1.0 <= moved.factor <= 1.3
    assert moved.recipe.base_s >= 10


def test_a_measured_detail_wins_and_the_crop_is_kept() -> None:
    recipe = parse_recipe(COLOUR)
    moved = move(recipe, Target(sheet="12x16in"))
    assert moved.magnification[0] == pytest.approx(7.94, abs=0.01)
    assert moved.magnification[1] == pytest.approx(7.9375 * 11.2889 / 7.0556, abs=0.01)


def test_burns_through_another_filter_and_flash() -> None:
    moved = move(parse_recipe(SILVER), Target(sheet="12x16in", aperture=8, speed=100, grade="4"))
    light = moved.size * moved.aperture * moved.paper
    assert (moved.aperture, moved.paper, moved.filters) == (pytest.approx(0.5), 2, 2)
    assert moved.recipe.burn[0].seconds == pytest.approx(6 * light, abs=0.001)
    assert moved.recipe.base_s == pytest.approx(10 * light * 2, abs=0.001)
    assert moved.recipe.flash and moved.recipe.flash.seconds == 1.5
    assert any("flash" in line for line in moved.advice)
    assert any("D = 0.6" in line for line in moved.says)
    assert any("judge dodges and burns anew" in line for line in moved.advice)


def test_colour_outside_its_seconds_is_told_to_open_the_lens() -> None:
    moved = move(parse_recipe(COLOUR.replace("base_s = 10.0", "base_s = 40")), Target(sheet="16x20in"))
    advice = next(line for line in moved.advice if "outside 5 to 45" in line)
    assert "open the lens by 2 stops from f/8" in advice
    short = move(parse_recipe(COLOUR.replace("base_s = 10.0", "base_s = 4")), Target(aperture=5.6))
    assert any("close the lens by 2 stops" in line for line in short.advice)


def test_column_and_blades() -> None:
    moved = move(parse_recipe(COLOUR), Target(sheet="12x16in", column_mm=600))
    assert any("column reaches 600 mm" in line for line in moved.advice)
    assert any("easel blades" in line for line in moved.advice)


def test_measured_distances_and_a_measured_head() -> None:
    recipe = parse_recipe(COLOUR)
    assert move(recipe, Target(distances_mm=(450, 750))).size == pytest.approx(2.778, abs=0.001)
    plain = move(recipe, Target(sheet="12x16in"))
    bent = move(recipe, Target(sheet="12x16in", exponent=0.85, exponent_of="condenser"))
    assert bent.size == pytest.approx(plain.size**0.85)
    assert "condenser" in bent.says[0]


@pytest.mark.parametrize(
    ("text", "target", "says"),
    [
        (SILVER.replace('frame = "6x6"\n', ""), Target(sheet="12x16in"), "magnification must be known"),
        (SILVER.replace("aperture = 11\n", ""), Target(aperture=8), "does not say its aperture"),
        (SILVER.replace("speed = 200\n", ""), Target(speed=100), "does not say its paper's speed"),
        (COLOUR.replace('head = "dial"\n', ""), Target(pack=Pack(m=70)), "--head gel"),
        (COLOUR, Target(grade="4"), "no grade to change from"),
        (SILVER, Target(pack=Pack(m=70)), "contrast grade"),
        (SILVER, Target(sheet="8x10in", border_mm=120), "leaves nothing"),
    ],
)
def test_what_is_not_known_is_asked_for(text: str, target: Target, says: str) -> None:
    with pytest.raises(Refused, match=says):
        move(parse_recipe(text), target)


def test_a_derived_recipe_is_read_back_and_links_to_its_original() -> None:
    moved = move(parse_recipe(COLOUR), Target(sheet="12x16in", aperture=5.6), file="harbour.toml", sha256="ab" * 32)
    again = parse_recipe(recipe_toml(moved.recipe))
    assert again == moved.recipe
    assert again.derived and (again.derived.title, again.derived.file) == ("Harbour", "harbour.toml")
    assert len(again.derived.says) == len(moved.says)
    assert set(moved_json(moved)) >= {
        "factors",
        "factor",
        "stops",
        "base_s",
        "magnification",
        "lens_to_paper_mm",
        "negative_to_paper_mm",
    }


@given(
    st.sampled_from([COLOUR, SILVER]),
    st.sampled_from(["12x16in", "16x20in", "30x40cm", "5x7"]),
    st.sampled_from([4, 5.6, 8, 11, 16]),
)
def test_there_and_back_is_where_it_was(text: str, sheet: str, aperture: float) -> None:
    recipe = parse_recipe(text)
    there = move(recipe, Target(sheet=sheet, aperture=aperture)).recipe
    back = move(there, Target(sheet="8x10in", aperture=recipe.enlargement.aperture)).recipe
    if recipe.enlargement.detail_print_mm is None:
        assert back.base_s == pytest.approx(recipe.base_s, abs=0.01)
    assert back.enlargement.sheet == "8x10in"


def test_dodges_and_burns_in_stops_follow_by_themselves() -> None:
    recipe = parse_recipe(COLOUR)
    moved = move(recipe, Target(sheet="12x16in"))
    before, after = print_plan(recipe), print_plan(moved.recipe)
    ratios = [b.seconds / a.seconds for a, b in zip(before.steps, after.steps, strict=True) if a.seconds]
    assert ratios == pytest.approx([moved.factor] * len(ratios), rel=1e-3)


def test_recipes_round_trip_through_toml(tmp_path: Path) -> None:
    example = Path(__file__).parent.parent / "timer" / "example.toml"
    least = 'recipe = 1\ntitle = "-"\nbase_s = 1\n[paper]\nkind = "silver"\n'
    for text in (COLOUR, SILVER, least, example.read_text()):
        recipe = parse_recipe(text)
        assert parse_recipe(recipe_toml(recipe)) == recipe
