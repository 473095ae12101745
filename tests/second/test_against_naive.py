"""The program's arithmetic against a second, naive one that shares no code with it.

A hundred cases of each in a usual run and in CI; ten thousand of each by

    python -m pytest tests/second --hypothesis-profile=thorough
"""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.second import naive
from timer.cli.filters import corrected
from timer.craft import filters as colour_filters
from timer.craft import heads
from timer.craft import paper as craft_paper
from timer.craft.lights import Lights
from timer.documents.calibrations import Box
from timer.documents.recipe import GRADES, Recipe
from timer.documents.recipe_file import parse_recipe
from timer.documents.settings import Head
from timer.errors import Refused
from timer.plans.derive import derive
from timer.plans.model import Plan
from timer.plans.print import print_plan
from timer.plans.recipe_change import RecipeChange
from timer.plans.test_sheets import ladder_plan, ring_plan

CLOSE = 1e-9
cc = st.one_of(st.integers(0, 120).map(float), st.floats(0, 120).map(lambda v: round(v, 1)))
packs = st.tuples(cc, cc, cc)
sheets = st.lists(st.tuples(st.sampled_from("CMYRGB"), st.integers(1, 80).map(float)), min_size=1, max_size=4)
seconds = st.floats(1, 120)
names = st.sampled_from(sorted(naive.TAKES_OUT))
levels = st.tuples(*[st.floats(5, 200).map(lambda v: round(v, 2))] * 3)
filter_heads = st.sampled_from(["cp", "dichroic"])


def as_text(stack: list[tuple[str, float]]) -> str:
    return " ".join(f"{amount:g}{ink}" for ink, amount in stack)


def cmy(pack: colour_filters.Pack) -> tuple[float, float, float]:
    return pack.c, pack.m, pack.y


# ── pack ─────────────────────────────────────────────────────────────────────


@given(filter_heads, sheets, sheets)
def test_pack(head: str, old: list[tuple[str, float]], new: list[tuple[str, float]]) -> None:
    assume(max(*naive.cmy(old), *naive.cmy(new)) <= 250)
    before, after = (heads.parse_setting(as_text(stack), head) for stack in (old, new))
    plain, neutral = heads.plain(after)
    assert cmy(heads.pack(plain)) == pytest.approx(naive.no_neutral(naive.cmy(new)))
    assert neutral == pytest.approx(min(naive.cmy(new)))
    # a stack of two inks at most stays as it is stacked; any other becomes one sheet an ink
    kept = new if not neutral else None
    wanted = naive.filter_time(head, naive.no_neutral(naive.cmy(new)), kept) / naive.filter_time(head, naive.cmy(old), old)
    assert heads.time_change(before, plain, head)[0] == pytest.approx(wanted, rel=CLOSE)


# ── cast ─────────────────────────────────────────────────────────────────────


@given(filter_heads, names, st.floats(0.5, 60).map(lambda v: round(v, 1)), packs, seconds)
def test_cast(head: str, name: str, amount: float, pack: tuple[float, float, float], time: float) -> None:
    made = corrected(name, amount, colour_filters.Pack(*pack), time, Head(head), reversal=False)  # type: ignore[arg-type]
    wanted, takes = naive.cast(head, name, amount, pack, time)
    assert [made["pack"][ink] for ink in "cmy"] == pytest.approx(wanted, abs=1e-5)
    assert made["seconds"] == pytest.approx(takes, rel=1e-6)
    back = corrected(name, amount, colour_filters.Pack(*pack), time, Head(head), reversal=True)  # type: ignore[arg-type]
    assert [back["pack"][ink] for ink in "cmy"] == pytest.approx(naive.cast(head, name, -amount, pack, time)[0], abs=1e-5)


@given(names, st.floats(0.5, 40), levels, seconds, st.sampled_from([0.0, 12.0, 30.0]))
def test_cast_of_three_lights(
    name: str, amount: float, lights: tuple[float, float, float], time: float, per_stop: float
) -> None:
    head = Head("additive", 0.0, per_stop)
    made = corrected(name, amount, Lights(*lights, per_stop), time, head, reversal=False)
    wanted, takes = naive.lights_cast(name, amount, lights, time, per_stop)
    assert [made["pack"][key] for key in ("red", "green", "blue")] == pytest.approx(wanted, rel=1e-3, abs=0.02)
    assert made["seconds"] == pytest.approx(takes, rel=2e-3)
    in_turn = corrected(name, amount, Lights(*lights), None, Head("tricolour"), reversal=False)
    balance, more = naive.lights_cast(name, amount, lights, 1.0)
    assert [in_turn["pack"][key] for key in ("red", "green", "blue")] == pytest.approx([b * more for b in balance], rel=2e-3)


@given(filter_heads, packs, seconds, st.integers(1, 40).map(float))
def test_rings_and_ladders(head: str, pack: tuple[float, float, float], time: float, size: float) -> None:
    def check(plan: Plan, changes: list[tuple[float, float, float]]) -> None:
        assert plan.patches[0].seconds == time
        for patch, change in zip(plan.patches[1:], changes, strict=True):
            wanted = naive.no_neutral([pack[n] + change[n] for n in range(3)])
            takes = time * naive.filter_time(head, wanted) / naive.filter_time(head, pack)
            assert patch.seconds == pytest.approx(takes, rel=1e-6)

    order = ("red", "yellow", "green", "cyan", "blue", "magenta")
    towards = [tuple(-size * way for way in naive.TAKES_OUT[name]) for name in order]
    check(ring_plan(colour_filters.Pack(*pack), size, time, head), towards)  # type: ignore[arg-type]
    check(ladder_plan(colour_filters.Pack(*pack), "M", (-size, 0.0, size), time, head), [(0, -size, 0), (0, size, 0)])
    check(ladder_plan(colour_filters.Pack(*pack), "B", (size,), time, head), [(size, size, 0)])


# ── move ─────────────────────────────────────────────────────────────────────

marks = st.sampled_from(sorted(naive.STOPS_OF))
frames, papers = st.sampled_from(sorted(naive.FRAME_MM)), st.sampled_from(sorted(naive.SHEET_MM))
places = st.fixed_dictionaries(
    {"frame": frames, "sheet": papers, "fill": st.booleans(), "border": st.sampled_from([0.0, 5.0, 12.5]), "aperture": marks}
)


def recipe_text(place: dict[str, Any], base: float, rest: str, kind: str = "ra4") -> str:
    return (
        f'recipe = 1\ntitle = "-"\nbase_s = {base!r}\n[paper]\nkind = "{kind}"\nspeed = 200\n[enlargement]\n'
        f'frame = "{place["frame"]}"\nsheet = "{place["sheet"]}"\nfill = {str(place["fill"]).lower()}\n'
        f"border_mm = {place['border']}\naperture = {place['aperture']}\nlens_mm = 50\n{rest}"
    )


def larger(place: dict[str, Any]) -> float:
    return naive.times_larger(place["frame"], place["sheet"], place["fill"], place["border"])


def moved_base(recipe: Recipe, target: RecipeChange, base: float) -> tuple[Recipe, float]:
    """The derived recipe and the factor of its base; cases whose base no recipe holds are left out."""
    try:
        made = derive(recipe, target)
    except Refused as error:
        assume("3600 s at most" not in str(error) and "cannot be made" not in str(error))
        raise
    assert made.recipe.base_s == pytest.approx(base * made.factor, rel=6e-4)
    return made.recipe, made.factor


@given(places, places, seconds, st.floats(0.5, 1.5), st.fractions(-2, 2, max_denominator=12))
def test_move_to_another_size(
    old: dict[str, Any], new: dict[str, Any], base: float, exponent: float, stops: Fraction
) -> None:
    recipe = parse_recipe(recipe_text(old, base, '[[burn]]\narea = "a"\nseconds = 4\nfilters = { y = 10 }\n'))
    target = RecipeChange(
        sheet=new["sheet"], frame=new["frame"], fill=new["fill"], border_mm=new["border"], aperture=new["aperture"],
        exponent=exponent, exponent_of="mine", stops=stops,
    )  # fmt: skip
    made, factor = moved_base(recipe, target, base)
    wanted = naive.size_time(larger(old), larger(new), exponent) * naive.aperture_time(old["aperture"], new["aperture"])
    wanted = wanted * 2.0 ** float(stops)
    assert factor == pytest.approx(wanted, rel=CLOSE)
    assert made.burn[0].seconds == pytest.approx(4 * wanted, rel=6e-4)


@given(
    places, seconds, st.floats(120, 900), st.floats(120, 900), st.sampled_from([0.0, 40.0, 50.0, 80.0]), st.floats(0.5, 1.5)
)
def test_move_by_distances(
    place: dict[str, Any], base: float, before: float, after: float, lens: float, exponent: float
) -> None:
    recipe = parse_recipe(recipe_text(place, base, ""))
    target = RecipeChange(distances_mm=(before, after), lens_mm=lens or None, exponent=exponent, exponent_of="mine")
    made, factor = moved_base(recipe, target, base)
    assert factor == pytest.approx(naive.distance_time(before, after, 50, lens or 50, exponent), rel=CLOSE)
    # what was written down is where the next move begins
    again, back = moved_base(
        made, RecipeChange(distances_mm=(after, before), lens_mm=50, exponent=exponent, exponent_of="mine"), made.base_s
    )
    assert again.base_s == pytest.approx(base, rel=2e-3)
    assert back == pytest.approx(1 / factor, rel=CLOSE)


@given(places, seconds, filter_heads, packs, packs, st.booleans())
def test_move_to_another_pack(
    place: dict[str, Any], base: float, head: str, old: tuple[float, float, float], new: tuple[float, float, float], to: bool
) -> None:
    recipe = parse_recipe(recipe_text(place, base, "[filters]\nc = {}\nm = {}\ny = {}\nhead = '{}'\n".format(*old, head)))
    change = [(new[n] - old[n]) / 4 for n in range(3)]
    target = RecipeChange(pack=colour_filters.Pack(*new)) if to else RecipeChange(correct=colour_filters.Pack(*change))
    wanted = naive.no_neutral(new if to else [old[n] + change[n] for n in range(3)])
    assume(to or any(change))
    made, factor = moved_base(recipe, target, base)
    assert (made.filters.c, made.filters.m, made.filters.y) == pytest.approx(wanted, abs=1e-5)
    assert factor == pytest.approx(naive.filter_time(head, wanted) / naive.filter_time(head, old), rel=1e-6)


@given(places, seconds, filter_heads, packs, packs, st.tuples(*[st.integers(-20, 20).map(float)] * 3), st.floats(0.5, 2))
def test_move_to_a_new_box(
    place: dict[str, Any],
    base: float,
    head: str,
    main: tuple[float, float, float],
    own: tuple[float, float, float],
    change: tuple[float, float, float],
    ratio: float,
) -> None:
    def boxed(pack: tuple[float, float, float]) -> tuple[tuple[float, ...], float]:
        raw = tuple(pack[n] + change[n] for n in range(3))
        plain = naive.no_neutral(raw)
        return plain, naive.filter_time(head, plain) / naive.filter_time(head, raw)

    assume(any(own) and any(change))
    filters = "[filters]\nc = {}\nm = {}\ny = {}\nhead = '{}'\n".format(*main, head)
    burn = "[[burn]]\narea = 'a'\nseconds = 4\nfilters = {{ c = {}, m = {}, y = {} }}\n".format(*own)
    recipe = parse_recipe(recipe_text(place, base, filters + burn + "[flash]\nseconds = 1\n"))
    made, factor = moved_base(recipe, RecipeChange(box=Box("b", ratio, colour_filters.Pack(*change))), base)
    plain, neutral = boxed(main)
    assert factor == pytest.approx(ratio * neutral, rel=1e-6)
    assert (made.filters.c, made.filters.m, made.filters.y) == pytest.approx(plain, abs=1e-5)
    plain, neutral = boxed(own)
    filters_of_burn = made.burn[0].filters
    assert filters_of_burn
    assert (filters_of_burn.c, filters_of_burn.m, filters_of_burn.y) == pytest.approx(plain, abs=1e-5)
    assert made.burn[0].seconds == pytest.approx(4 * ratio * neutral, rel=6e-4)
    assert made.flash and made.flash.seconds == pytest.approx(ratio, rel=6e-4)


@given(places, seconds, names, st.floats(1, 30), levels, st.booleans())
def test_move_of_three_lights(
    place: dict[str, Any], base: float, name: str, amount: float, lights: tuple[float, float, float], in_turn: bool
) -> None:
    head = "tricolour" if in_turn else "additive"
    filters = "[filters]\nhead = '{}'\nred = {}\ngreen = {}\nblue = {}\n".format(head, *lights)
    recipe = parse_recipe(recipe_text(place, base, filters))
    made, _ = moved_base(recipe, RecipeChange(correct=colour_filters.correction(name, amount)), base)
    balance, takes = naive.lights_cast(name, amount, lights, base)
    new = (made.filters.red, made.filters.green, made.filters.blue)
    if in_turn:
        had = [base * light / max(lights) for light in lights]
        row = [had[n] * balance[n] / lights[n] * takes / base for n in range(3)]
        assert new == pytest.approx(row, rel=3e-3, abs=2e-3)
        assert made.base_s == pytest.approx(max(row), rel=3e-3)
    else:
        assert [made.base_s * level for level in new] == pytest.approx([takes * level for level in balance], rel=3e-3)


# ── paper ────────────────────────────────────────────────────────────────────

speeds = st.floats(10, 1000)
grades = st.sampled_from(GRADES)


@given(speeds, speeds, grades, grades, st.floats(20, 200), st.floats(1, 100))
def test_paper(old: float, new: float, soft: str, hard: str, r: float, time: float) -> None:
    assert craft_paper.speed_factor(old, new) == pytest.approx(naive.speed_time(old, new), rel=CLOSE)
    assert craft_paper.grade_factor(soft, hard) == naive.grade_time(soft, hard)
    wanted = naive.grade(r)
    if wanted is None:
        with pytest.raises(ValueError, match="outside"):
            craft_paper.grade_of_range(r)
    else:
        assert craft_paper.grade_of_range(r) == wanted
    assert [s for _, s in craft_paper.dry_down_times(time)] == pytest.approx(
        [naive.dried(time, less) for less in (0, 8, 9, 10, 11, 12)]
    )


@given(places, seconds, speeds, grades, grades, st.booleans(), st.booleans())
def test_move_to_another_paper(
    place: dict[str, Any], base: float, speed: float, old: str, new: str, with_speed: bool, with_grade: bool
) -> None:
    text = recipe_text(place, base, f'[filters]\ngrade = "{old}"\n[flash]\nseconds = 2\n', "bw")
    assume(with_speed or with_grade)
    recipe = parse_recipe(text)
    target = RecipeChange(speed=speed if with_speed else None, grade=new if with_grade else "")
    made, factor = moved_base(recipe, target, base)
    filters = naive.grade_time(old, new) if with_grade else 1.0
    whole = naive.speed_time(200, speed) if with_speed else filters
    assert factor == pytest.approx(whole, rel=CLOSE)
    assert made.flash and made.flash.seconds == pytest.approx(2 * whole / filters, rel=6e-4)
    assert made.paper.speed == pytest.approx(200 / whole, rel=CLOSE)
    assert made.filters.grade == (new if with_grade else old)


@given(
    seconds,
    st.integers(0, 40),
    st.lists(st.fractions(Fraction(1, 12), Fraction(1, 3), max_denominator=12), max_size=3),
    st.lists(st.fractions(Fraction(1, 12), 3, max_denominator=12), max_size=3),
    st.booleans(),
)
def test_what_a_sheet_gets(base: float, dry: int, dodges: list[Fraction], burns: list[Fraction], stop: bool) -> None:
    rows = "".join(f"[[dodge]]\narea = 'd{n}'\nstops = '{s}'\n" for n, s in enumerate(dodges))
    rows += "".join(f"[[burn]]\narea = 'b{n}'\nstops = '{s}'\n" for n, s in enumerate(burns))
    dodging = "stop-start" if stop else "run-through"
    text = f"recipe = 1\ntitle = '-'\nbase_s = {base!r}\ndry_down_percent = {dry}\ndodging = '{dodging}'\n"
    plan = print_plan(parse_recipe(f"{text}[paper]\nkind = 'bw'\n[flash]\nseconds = 2\n{rows}"))
    light: dict[str, float] = {}
    for step in plan.steps:
        light[step.area] = light.get(step.area, 0.0) + step.seconds
    full = naive.dried(base, dry)
    assert light["base"] == pytest.approx(full)
    assert light["flash"] == 2
    for n, stops in enumerate(burns):
        assert light[f"b{n}"] == pytest.approx(naive.burnt(full, float(stops)))
    for n, stops in enumerate(dodges):
        assert _held(plan, f"d{n}") == pytest.approx(naive.held(full, float(stops)))


def _held(plan: Plan, area: str) -> float:
    """Seconds of the base in which ``area`` is held back, by the cues."""
    out = 0.0
    for step in plan.steps:
        if step.area != "base" or step.do != "expose":
            continue
        at, doing = 0.0, step.say
        for mark in step.marks:
            if mark.cue == "warn":
                continue
            out += (mark.at - at) * (f" {area}" in doing)
            at, doing = mark.at, mark.say
    return out
