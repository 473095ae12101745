"""Every recipe is refused in one sentence, or can be planned, written, read again, and moved: all fields together."""

from fractions import Fraction

import pytest
import tomli_w
from hypothesis import event, given
from hypothesis import strategies as st

from tests.recipes import documents, printable
from timer.craft.dodge_burn import SMALLEST_S
from timer.craft.filters import Pack
from timer.documents.calibrations import Box
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import passes
from timer.errors import LamphouseError, Refused
from timer.plans.derive import derive
from timer.plans.limits import check_limits
from timer.plans.model import Plan
from timer.plans.print import print_plan
from timer.plans.recipe_change import RecipeChange
from timer.plans.stored import decode_plan, encode_plan


def made(data: dict[str, object]) -> Recipe | None:
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


@given(documents())
def test_a_recipe_that_is_read_can_be_planned_and_written(data: dict[str, object]) -> None:
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
    "pack": (Pack(0, 70, 50), Pack(20, 60, 50)),
    "correct": (Pack(m=-10), Pack(c=20), Pack(m=200)),
    "head": ("dichroic", "cp"),
    "box": (Box("b", 1.1, Pack(c=5)), Box("b", 9.0, Pack())),
    "stops": (Fraction(1, 3), Fraction(-3)),
    "top": (100.0,),
}
changes = st.sampled_from(sorted(CHANGES)).flatmap(lambda name: st.tuples(st.just(name), st.sampled_from(CHANGES[name])))
targets = st.lists(changes, min_size=1, max_size=3).map(lambda some: RecipeChange(**dict(some)))  # type: ignore[arg-type]


@given(st.one_of(documents(), printable()), targets)
def test_what_a_move_writes_is_read_again_as_it_was(data: dict[str, object], target: RecipeChange) -> None:
    recipe = made(data)
    if recipe is None:
        return
    try:
        moved = derive(recipe, target, file="hut.toml", sha256="ab" * 32)
    except Refused as error:
        event("refused")
        assert "\n" not in str(error).replace("\\n", "")
        return
    event("moved")
    assert parse_recipe(recipe_toml(moved.recipe)) == moved.recipe
    check_plan(moved.recipe, print_plan(moved.recipe))
    assert moved.recipe.base_s == pytest.approx(recipe.base_s * moved.factor, rel=1e-3)


BASE = 'recipe = 1\ntitle = "-"\nbase_s = 10\n%s\n[paper]\nkind = "bw"\n%s'


@pytest.mark.parametrize(
    ("top", "rest", "says"),
    [
        # fits undried, and not dried down
        ("dry_down_percent = 10\nchangeover_s = 2", '[[dodge]]\narea = "a"\nstops = 1\n[[dodge]]\narea = "b"\nstops = "1/2"\n', "dodge: after 10 % of dry-down the dodges"),
        ("", '[[dodge]]\narea = "a"\nstops = "1/99999999"\n', "dodge: the dodge of a is"),
        ("", '[[burn]]\narea = "a"\nstops = "1/99999999"\n', r"burn 1: .* cannot be given"),
        ("", '[[burn]]\narea = "a"\nseconds = 0.004\nfilters = {}\n', r"burn 1: 0.004 s of light cannot be given"),
        ("dry_down_percent = 40", '[[burn]]\narea = "a"\nseconds = 0.008\nfilters = {}\n', r"burn 1: 0.005 s"),
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
