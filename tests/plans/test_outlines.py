"""Outlines changed key by key: whatever is pressed, the recipe can still be read; and what a map says of it."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.bench.sheet import mask_of
from timer.documents.recipe import Burn, Filters, Outline, Paper, Recipe
from timer.documents.recipe_file import load_recipe, parse_recipe, recipe_toml
from timer.plans import outlines

RECIPE = """
recipe = 1
title = "Gate"
base_s = 10
[paper]
kind = "bw"
[enlargement]
sheet = "18x24cm"
[[dodge]]
area = "wall"
stops = "1/3"
[[burn]]
area = "sky"
stops = "1/2"
[[burn]]
area = "whole sheet"
seconds = 4
filters = { grade = "5" }
dodge = [{ area = "wall", stops = "1/4" }]
"""
BOTH = st.tuples(st.integers(-1, 1), st.integers(-1, 1))
POINT = st.one_of(st.none(), st.integers(0, 3))
KEYS = st.lists(st.tuples(st.sampled_from(["move", "size", "more", "less"]), BOTH, POINT), max_size=40)


def after(outline: Outline, keys: list[tuple[str, tuple[int, int], int | None]]) -> Outline:
    for key, (dx, dy), point in keys:
        at = min(point or 0, len(outline.polygon or (0,)) - 1)
        match key:
            case "move":
                outline = outlines.moved(outline, dx, dy, point)
            case "size":
                outline = outlines.sized(outline, dx, dy)
            case "more":
                outline = outlines.with_point(outline, at)[0]
            case "less" if outline.polygon:
                outline = outlines.without_point(outline, at)[0]
    return outline


@given(st.sampled_from(outlines.FORMS), st.floats(0, 1), st.floats(0, 1), KEYS)
def test_whatever_is_pressed_the_recipe_is_read_again(form: outlines.Form, x: float, y: float, keys: list) -> None:  # type: ignore[type-arg]
    outline = after(outlines.begun(form, x, y), keys)
    made = outlines.with_outline(parse_recipe(RECIPE), "wall", outline)
    assert parse_recipe(recipe_toml(made)) == made
    assert outlines.form_of(outline) == form
    assert all(0 <= part <= 1 for part in outlines.middle(outline))


def test_a_map_says_what_a_burn_is_given() -> None:
    """5 s with 9 % of dry-down are 4.55 s."""
    burn = Burn("whole sheet", seconds=5.0, filters=Filters(grade="5"))
    recipe = Recipe(recipe=1, title="t", base_s=12.0, paper=Paper("bw"), dry_down_percent=9.0, burn=(burn,))
    assert outlines.labels(recipe) == [("whole sheet", "+4.55 s grade 5")]


def test_an_area_has_one_place_wherever_it_is_worked_on() -> None:
    recipe = parse_recipe(RECIPE)
    assert outlines.areas(recipe) == ["wall", "sky", "whole sheet"]
    made = outlines.with_outline(recipe, "wall", outlines.begun("ellipse"))
    assert made.dodge[0].outline == made.burn[1].dodge[0].outline == outlines.begun("ellipse")
    assert set(outlines.outlines(made)) == {"wall"}
    assert outlines.with_outline(made, "wall", None) == recipe
    assert outlines.labels(recipe) == [
        ("wall", "-1/3"),
        ("sky", "+1/2"),
        ("whole sheet", "+4 s grade 5"),
        ("wall", "-1/4 grade 5"),
    ]


@pytest.mark.parametrize(("key", "side"), [((0, -1), "top"), ((0, 1), "bottom"), ((-1, 0), "left"), ((1, 0), "right")])
def test_an_edge_goes_where_the_arrow_points(key: tuple[int, int], side: str) -> None:
    """By its mask, drawn by the bench: the light lies on that side of the sheet."""
    edge = outlines.moved(Outline(edge="top", feather=0), *key)
    mask = mask_of(edge, 50, 40)
    halves = {"top": mask[:20], "bottom": mask[20:], "left": mask[:, :25], "right": mask[:, 25:]}
    assert halves[side].sum() == mask.sum() > 0
    assert mask_of(outlines.sized(edge, 1, 0), 50, 40).sum() > mask.sum()


def test_an_ellipse_moves_as_its_mask_does() -> None:
    def centre(outline: Outline) -> tuple[float, float]:
        mask = mask_of(outline, 500, 400)
        return float((mask.sum(0) * np.arange(500)).sum() / mask.sum()), float(
            (mask.sum(1) * np.arange(400)).sum() / mask.sum()
        )

    outline = Outline(ellipse=(0.5, 0.5, 0.1, 0.1), feather=0)
    (x, y), (to_x, to_y) = centre(outline), centre(outlines.moved(outline, 1, -1))
    assert to_x - x == pytest.approx(500 * outlines.STEP, abs=1)
    assert y - to_y == pytest.approx(400 * outlines.STEP, abs=1)


def test_the_sheet_has_its_true_proportion() -> None:
    assert outlines.proportion(parse_recipe(RECIPE)) == pytest.approx(24 / 18)
    assert outlines.proportion(None) == 5 / 4
    example = load_recipe(Path(__file__).parents[2] / "timer" / "documents" / "example.toml")
    assert set(outlines.outlines(example)) == {"coat", "steps", "window", "lamp"}
