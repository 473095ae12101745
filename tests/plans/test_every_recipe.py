"""Every recipe is refused in one sentence, or can be planned, written, read again, and moved: all fields together."""

from collections import Counter
from fractions import Fraction
from typing import Any

import pytest
import tomli_w
from hypothesis import Phase, event, given, settings
from hypothesis import strategies as st

from tests.recipes import documents, printable
from timer.craft.dodge_burn import SMALLEST_S
from timer.craft.filters import Pack
from timer.craft.heads import THREE_LIGHTS
from timer.craft.lights import Lights, amounts, light
from timer.documents.calibrations import Box
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import passes, setting_of
from timer.errors import LamphouseError, Refused
from timer.plans.derive import derive
from timer.plans.limits import check_limits
from timer.plans.model import Plan
from timer.plans.print import print_plan
from timer.plans.recipe_change import DerivedRecipe, RecipeChange
from timer.plans.stored import decode_plan, encode_plan

DOCUMENTS, PRINTABLE = documents(), printable()  # made once: that takes longer than drawing from them


def made(data: dict[str, Any]) -> Recipe | None:
    """The recipe, or None where it was refused as it should be."""
    try:
        return parse_recipe(tomli_w.dumps(data), "hut.toml")
    except LamphouseError as error:
        assert str(error).startswith("hut.toml: ")
        assert "\n" not in str(error).replace("\\n", "")
        return None


def check_plan(recipe: Recipe, plan: Plan) -> None:
    light = [step for step in plan.steps if step.do == "expose"]
    assert min(step.seconds for step in light) >= SMALLEST_S * (1 - 1e-9)
    dry = 1 - recipe.dry_down_percent / 100
    base = sum(step.seconds for step in light if step.say.startswith("base: "))
    assert base == pytest.approx(recipe.base_s * dry * sum(part.share for part in passes(recipe.filters)))
    for step in light:
        assert step.marks[-1].cue == "end" and step.marks[-1].at == step.seconds
        assert [mark.at for mark in step.marks] == sorted(mark.at for mark in step.marks)
        assert all(0 <= mark.at <= step.seconds for mark in step.marks)
    assert decode_plan(encode_plan(plan)) == plan
    try:
        check_limits(plan, 120)
    except Refused as error:
        assert "\n" not in str(error)


@given(DOCUMENTS)
def test_a_recipe_that_is_read_can_be_planned_and_written(data: dict[str, Any]) -> None:
    recipe = made(data)
    event("read" if recipe else "refused")
    if recipe:
        check_plan(recipe, print_plan(recipe))
        assert parse_recipe(recipe_toml(recipe)) == recipe


CHANGES: dict[str, tuple[object, ...]] = {
    "sheet": ("5x7", "16x20in"),
    "fill": (True,),
    "border_mm": (0.0, 10.0),
    "detail_print_mm": (1.0, 400.0),
    "distances_mm": ((400.0, 640.0), (1100.0, 1200.0), (60.0, 1200.0)),
    "aperture": (1.0, 5.6, 128.0),
    "lens_mm": (80.0, 1000.0),
    "speed": (1.0, 100.0, 10_000.0),
    "grade": ("00", "5"),
    "pack": (Pack(0, 70, 50), Pack(20, 60, 50), Lights(80, 60, 50), Lights(24, 30, 36, 12)),
    "correct": (Pack(m=-10), Pack(c=20), Pack(m=200)),
    "head": ("dichroic", "cp", "additive", "tricolour"),
    "box": (Box("b", 1.1, Pack(c=5)), Box("b", 9.0, Pack())),
    "stops": (Fraction(1, 3), Fraction(-3)),
    "top": (100.0,),
}


def fitting(data: dict[str, Any]) -> dict[str, tuple[object, ...]]:
    """The changes that the recipe has what is needed for."""
    filters, place = data["filters"], data["enlargement"]
    head = filters.get("head", "")
    out = {name: CHANGES[name] for name in ("stops", "top", "lens_mm")}
    if place.get("aperture"):
        out["aperture"] = CHANGES["aperture"]
    if all(place.get(k) for k in ("frame", "sheet")) or all(place.get(k) for k in ("detail_negative_mm", "detail_print_mm")):
        out |= {name: CHANGES[name] for name in ("sheet", "fill", "border_mm", "detail_print_mm")}
    if data["paper"].get("speed"):
        out["speed"] = CHANGES["speed"]
    if filters.get("grade"):
        return out | {"grade": CHANGES["grade"], "box": CHANGES["box"][1:]}
    if head in ("cp", "dichroic"):
        out |= {"pack": CHANGES["pack"][:2], "head": (head,)}
    elif head:
        per_stop = filters.get("per_stop", 0.0)
        out |= {"pack": (Lights(8, 6, 5, per_stop), Lights(20, 30, 20, per_stop)), "head": (head,)}
    if head:
        out |= {"correct": CHANGES["correct"], "box": CHANGES["box"]}
    return out


@st.composite
def moves(draw: st.DrawFn) -> tuple[dict[str, Any], RecipeChange]:
    """A recipe and one to three changes: three times of four a printable one, and changes that it can have."""
    wild = draw(st.sampled_from((False, False, False, True)))
    data = draw(DOCUMENTS if wild else PRINTABLE)
    choices = CHANGES if wild else fitting(data)
    names = draw(st.lists(st.sampled_from(sorted(choices)), min_size=1, max_size=3, unique=True))
    if not wild and "pack" in names:
        names = [name for name in names if name != "correct"]
    return data, RecipeChange(**{name: draw(st.sampled_from(choices[name])) for name in names})  # type: ignore[arg-type]


def moved_by(data: dict[str, Any], target: RecipeChange) -> tuple[Recipe, DerivedRecipe] | None:
    """The recipe and what is derived of it, or None where either was refused as it should be."""
    recipe = made(data)
    if recipe is None:
        return None
    try:
        return recipe, derive(recipe, target, file="hut.toml", sha256="ab" * 32)
    except Refused as error:
        assert "\n" not in str(error).replace("\\n", "")
        return None


@given(moves())
def test_what_a_move_writes_is_read_again_as_it_was(move: tuple[dict[str, Any], RecipeChange]) -> None:
    data, target = move
    found = moved_by(data, target)
    event("moved" if found else "refused")
    if not found:
        return
    recipe, moved = found
    assert parse_recipe(recipe_toml(moved.recipe)) == moved.recipe
    check_plan(moved.recipe, print_plan(moved.recipe))
    assert moved.recipe.base_s == pytest.approx(recipe.base_s * moved.factor, rel=1e-3)
    new = setting_of(moved.recipe.filters)
    if isinstance(target.pack, Lights) and not target.box:
        assert isinstance(new, Lights)
        assert balance(new) == pytest.approx(balance(target.pack), rel=1e-3)
    if moved.recipe.filters.head == "tricolour":
        assert isinstance(new, Lights)
        assert max(amounts(new)) == pytest.approx(moved.recipe.base_s, rel=1e-3)  # written in seconds


def balance(lights: Lights) -> list[float]:
    """Its lights, in proportion to all three."""
    each = light(lights)
    return [one / sum(each) for one in each]


def test_most_of_what_is_drawn_is_planned_and_moved() -> None:
    """The shares that make the two properties above say something; of lights that are given at once and in turn, both."""
    seen: Counter[str] = Counter()

    @settings(max_examples=100, derandomize=True, database=None, phases=(Phase.generate,))
    @given(DOCUMENTS)
    def read(data: dict[str, Any]) -> None:
        seen["drawn"] += 1
        seen["read"] += made(data) is not None

    @settings(max_examples=100, derandomize=True, database=None, phases=(Phase.generate,))
    @given(moves())
    def move(drawn: tuple[dict[str, Any], RecipeChange]) -> None:
        seen["asked"] += 1
        found = moved_by(*drawn)
        if found:
            before, after = found[0].filters, found[1].recipe.filters
            seen.update(["moved", f"from {before.head}", f"to {after.head}"])
            seen["lights changed"] += before.head in THREE_LIGHTS and before != after

    read()
    move()
    assert seen["read"] > seen["drawn"] / 2, seen
    assert seen["moved"] > seen["asked"] / 3, seen
    for head in THREE_LIGHTS:
        assert min(seen[f"from {head}"], seen[f"to {head}"]) > seen["moved"] / 20, seen
    assert seen["lights changed"] > 3, seen


BASE = 'recipe = 1\ntitle = "-"\nbase_s = 10\n%s\n[paper]\nkind = "bw"\n%s'


@pytest.mark.parametrize(
    ("top", "rest", "says"),
    [
        # fits undried, and not dried down
        ("dry_down_percent = 10\nchangeover_s = 2", '[[dodge]]\narea = "a"\nstops = 1\n[[dodge]]\narea = "b"\nstops = "1/2"\n', "dodge: after 10 % of dry-down the dodges"),
        ("", '[[dodge]]\narea = "a"\nstops = "1/99999999"\n', "dodge: the dodge of a is"),
        ("", '[[burn]]\narea = "a"\nstops = "1/99999999"\n', r"burn 1: .* cannot be given"),
        ("", '[[burn]]\narea = "a"\nseconds = 0.004\nfilters = {}\n', r"burn 1: 0.004 s of light cannot be given"),
        ("dry_down_percent = 40", '[[burn]]\narea = "a"\nseconds = 0.008\nfilters = {}\n', r"burn 1: 0.0048 s"),
        ("", '[edges]\nstops = "1/99999999"\n', "edges.stops: .* cannot be given"),
        ("", "[edges]\nstops = 1\nwhich = []\n", "edges.which: names no edge"),
        ("", "[flash]\nseconds = 0.001\n", "flash.seconds: 0.001 s"),
        ("changeover_s = 0.001", '[[dodge]]\narea = "a"\nstops = "1/4"\n[[dodge]]\narea = "b"\nstops = "1/4"\n', "dodge: the clear light is 0.001 s"),
        ("", '[enlargement]\nsheet = "8x10in"\nborder_mm = 120\n', "enlargement.border_mm: .* leaves nothing"),
        ("", "[enlargement]\nlens_mm = 80\nlens_to_paper_mm = 80\n", "enlargement.lens_to_paper_mm"),
        ("", '[filters]\nhead = "additive"\nm = 10\nred = 1\n', "filters: additive printing has red, green and blue"),
        ("", '[filters]\nhead = "tricolour"\n', "filters: give the lights"),
        ("", '[filters]\nhead = "tricolour"\nred = 1\nper_stop = 12\n', "filters.per_stop"),
        ("", "[filters]\nred = 1\n", "filters: red, green and blue are lights"),
        ("", '[filters]\nhead = "tricolour"\nred = 100\ngreen = 0.04\n', "base_s: 0.004 s of light through green"),
        ("", '[derived]\ntitle = "-"\nfactor = inf\n', "derived.factor"),
    ],
)  # fmt: skip
def test_what_could_not_be_given_is_refused_where_it_is_read(top: str, rest: str, says: str) -> None:
    with pytest.raises(LamphouseError, match=says) as caught:
        parse_recipe(BASE % (top, rest))
    assert "\n" not in str(caught.value)


def test_a_base_of_next_to_nothing_is_refused() -> None:
    with pytest.raises(LamphouseError, match="base_s: 1e-09 s of light cannot be given"):
        parse_recipe((BASE % ("", "")).replace("base_s = 10", "base_s = 1e-9"))


def test_stops_are_written_exactly() -> None:
    for text in ("1/99999999", "0.123456789", "1 22/7000", "1/3", "11/13", "0.30000000000000004"):
        recipe = parse_recipe(BASE % ("", f'[[burn]]\narea = "a"\nstops = "{text}"\n')) if "9999" not in text else None
        if recipe:
            assert parse_recipe(recipe_toml(recipe)) == recipe


def test_what_differs_from_its_default_is_written() -> None:
    recipe = parse_recipe(
        BASE % ("", '[flash]\nseconds = 1\nsource = ""\n[[burn]]\narea = "a"\nseconds = 2\nfilters = {}\n')
    )
    again = parse_recipe(recipe_toml(recipe))
    assert again == recipe
    assert again.flash and again.flash.source == ""
    assert again.burn[0].filters is not None
