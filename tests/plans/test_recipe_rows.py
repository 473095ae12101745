"""A recipe changed row by row: whatever is done to it, it can be shown, and what can be made is written and read again."""

import re
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from timer.craft.dodge_burn import burn_seconds, dodge_seconds
from timer.documents.recipe import Burn, Dodge, Enlargement, Filters, Paper, Recipe
from timer.documents.recipe_file import parse_recipe, recipe_toml
from timer.documents.recipe_light import filters_text
from timer.plans import recipe_edits, recipe_rows
from timer.plans.print import print_plan
from timer.plans.recipe_edits import nudged
from timer.plans.recipe_edits import typed as typed_in
from timer.plans.recipe_rows import Row, empty
from tui.widgets.timeline import timeline

PAPER = recipe_rows.PAPER_KINDS[0]
TEXTS = st.sampled_from(
    [
        "after",
        "top left",
        "24x36mm 18x24cm lens50mm border5mm detail10:80mm",
        "+1/3",
        "-1/4",
        "12.5",
        "3",
        "0",
        "",
        "wall",
        "sky+1/2",
        "60M 45Y",
        "2 1/2",
        "x",
        "9/0",
        "1e9",
    ]
)
ACTS = st.tuples(st.sampled_from(["nudge", "type", "add", "second", "remove", "move", "overlap"]), st.integers(0, 30), TEXTS)


def begun(**more: Any) -> Recipe:
    return recipe_edits.typed(recipe_rows.empty(PAPER, 10.0), recipe_rows.rows(recipe_rows.empty(PAPER))[0], "name", "quay")


def act(recipe: Recipe, what: str, number: int, text: str) -> Recipe:
    rows = recipe_rows.rows(recipe)
    row, by = rows[number % len(rows)], 1 if number % 2 else -1
    match what:
        case "nudge":
            return recipe_edits.nudged(recipe, row, by)
        case "type":
            field = ("name", "amount", "tool", "motion", "filters")[number % 5]
            return recipe_edits.typed(recipe, row, field, text)  # type: ignore[arg-type]
        case "add":
            kind = "dodge" if number % 3 else "burn"
            return recipe_edits.added(recipe, kind, text, recipe_edits.exposure_of(recipe, row))  # type: ignore[arg-type]
        case "second":
            return recipe_edits.second_added(recipe, text)
        case "remove":
            return recipe_edits.removed(recipe, row)
        case "move":
            return recipe_edits.moved(recipe, row, by)[0]
        case _:
            return recipe_edits.overlapped(recipe, row)


def test_the_sheet_row_takes_negative_sheet_and_aperture() -> None:
    recipe = recipe_rows.empty("bw")
    row = next(row for row in recipe_rows.rows(recipe) if row.kind == "sheet")
    whole = recipe_edits.typed(recipe, row, "name", "24x36mm 18x24cm f/8")
    place = whole.enlargement
    assert (place.frame, place.sheet, place.aperture) == ("24x36mm", "18x24cm", 8)
    place = recipe_edits.typed(whole, row, "name", "30x40cm").enlargement
    assert (place.frame, place.sheet, place.aperture) == ("24x36mm", "30x40cm", 8)
    with pytest.raises(ValueError, match="more than two sizes"):
        recipe_edits.typed(recipe, row, "name", "24x36mm 18x24cm 30x40cm")
    place = recipe_edits.typed(whole, row, "name", "").enlargement
    assert (place.frame, place.sheet, place.aperture) == ("", "", None)


def _row(recipe: Recipe, kind: str) -> recipe_rows.Row:
    return next(row for row in recipe_rows.rows(recipe) if row.kind == kind)


def test_the_sheet_row_takes_what_was_measured_and_shows_it_as_it_is_typed() -> None:
    recipe = begun()
    words = "24x36mm 18x24cm f/8 lens50mm border5mm fill detail10:80mm distance450mm"
    whole = recipe_edits.typed(recipe, _row(recipe, "sheet"), "name", words)
    place = whole.enlargement
    assert (place.lens_mm, place.border_mm, place.fill) == (50, 5, True)
    assert (place.detail_negative_mm, place.detail_print_mm, place.lens_to_paper_mm) == (10, 80, 450)
    assert _row(whole, "sheet").name.split() == words.split()
    again = recipe_edits.typed(recipe, _row(recipe, "sheet"), "name", _row(whole, "sheet").name)
    assert again.enlargement == place
    assert not recipe_rows.fault(whole)
    bare = recipe_edits.typed(whole, _row(whole, "sheet"), "name", "lens0mm border0mm nofill detail0:0mm distance0mm")
    assert bare.enlargement == Enlargement(frame="24x36mm", sheet="18x24cm", aperture=8)
    moved = recipe_edits.typed(whole, _row(whole, "sheet"), "name", "30x40cm detail10:130mm").enlargement
    assert (moved.detail_print_mm, moved.lens_to_paper_mm) == (130, None)  # the distance was that of the old size
    with pytest.raises(ValueError, match="lens50mm border5mm"):
        recipe_edits.typed(whole, _row(whole, "sheet"), "name", "border5")


def test_edges_flash_dry_down_picture_and_notes_have_their_fields() -> None:
    recipe = begun()
    for kind, field, text in (
        ("edges", "name", "left, top"),
        ("edges", "amount", "1/4"),
        ("flash", "name", "after"),
        ("flash", "amount", "1.2"),
        ("flash", "tool", "bare bulb"),
        ("dry-down", "amount", "8"),
        ("picture", "name", "quay.jpg"),
        ("notes", "name", "fixer was old"),
    ):
        recipe = recipe_edits.typed(recipe, _row(recipe, kind), field, text)  # type: ignore[arg-type]
    assert recipe.edges and set(recipe.edges.which) == {"left", "top"} and recipe.edges.stops == Fraction(1, 4)
    assert recipe.flash and (recipe.flash.when, recipe.flash.seconds, recipe.flash.source) == ("after", 1.2, "bare bulb")
    assert (recipe.dry_down_percent, recipe.picture, recipe.notes) == (8, "quay.jpg", "fixer was old")
    assert [row.name for row in recipe_rows.rows(recipe)[-3:]] == ["8 %", "quay.jpg", "fixer was old"]
    for kind, text in (("edges", "middle"), ("flash", "later"), ("dry-down", "41")):
        with pytest.raises(ValueError, match="."):
            recipe_edits.typed(recipe, _row(recipe, kind), "name", text)
    for kind in ("edges", "flash", "dry-down", "picture", "notes"):
        recipe = recipe_edits.removed(recipe, _row(recipe, kind))
    assert recipe == begun()
    colour = replace(recipe, paper=replace(recipe.paper, kind="ra4"))
    assert "dry-down" not in [row.kind for row in recipe_rows.rows(colour)]  # it is for black-and-white paper


@given(st.lists(ACTS, max_size=12), st.integers(1, 160))
def test_any_changes_in_any_order(acts: list[tuple[str, int, str]], width: int) -> None:
    recipe = begun()
    for what, number, text in acts:
        try:
            recipe = act(recipe, what, number, text)
        except ValueError as error:
            assert str(error)
        assert all(row.kind for row in recipe_rows.rows(recipe))
    if not recipe_rows.fault(recipe):
        made = parse_recipe(recipe_toml(recipe))
        assert made == recipe_rows.checked(recipe)
        line = timeline(print_plan(made), width)
        assert all(len(row) <= width for row in line)


def test_what_is_held_back_in_a_second_exposure_has_a_row_below_it() -> None:
    recipe = recipe_edits.second_added(recipe_edits.added(begun(), "dodge", "wall-1/3"), "5")
    second = next(row for row in recipe_rows.rows(recipe) if row.kind == "burn")
    within = recipe_edits.exposure_of(recipe, second)
    recipe = recipe_edits.added(recipe, "dodge", "wall-1/2", within)
    recipe = recipe_edits.added(recipe, "dodge", "door", within)
    assert [d.area for d in recipe.dodge] == ["wall"]
    rows = [(row.word, row.name) for row in recipe_rows.rows(recipe) if row.kind in ("dodge", "burn")]
    assert rows == [("dodge", "wall"), ("burn", "whole sheet"), ("  dodge", "wall"), ("  dodge", "door")]
    wall, door = (row for row in recipe_rows.rows(recipe) if row.within == 0)
    # half a stop of its exposure's 5 s, not of the base: 5 x (1 - 2^(-1/2)) = 1.46 s
    assert wall.seconds == f"{5 * (1 - 2**-0.5):.2f} s"
    recipe = recipe_edits.typed(recipe, wall, "amount", "2.5")  # a stop: half of the 5 s
    recipe = recipe_edits.typed(recipe, door, "tool", "card")
    recipe = recipe_edits.overlapped(recipe_edits.typed(recipe, door, "name", "gate"), door)
    recipe = recipe_edits.moved(recipe, door, -1)[0]
    assert [(d.area, abs(d.stops), d.tool, d.together) for d in recipe.burn[0].dodge] == [
        ("gate", Fraction(1, 3), "card", "wall"),
        ("wall", 1, "", ""),
    ]
    assert not recipe_rows.fault(recipe)
    upper, _ = timeline(print_plan(recipe), 80)
    assert "▕-ga…┊-wall┊" in upper
    short = replace(recipe, base_s=100.0)  # a second pass that is short beside the base has a name for it all the same
    assert "┊-wa…┊" in timeline(print_plan(short), 80)[0].partition("‖grade 5‖")[2]
    with pytest.raises(ValueError, match="held back"):
        recipe_edits.typed(recipe, wall, "amount", "+1/3")
    with pytest.raises(ValueError, match="is held back in this exposure"):
        recipe_edits.typed(recipe, second, "filters", "")
    _, wall = (row for row in recipe_rows.rows(recipe) if row.within == 0)
    recipe = recipe_edits.removed(recipe, wall)
    assert [(d.area, d.together) for d in recipe.burn[0].dodge] == [("gate", "")]


def test_seconds_are_those_of_the_plan() -> None:
    recipe = recipe_edits.added(recipe_edits.added(begun(), "dodge", "wall-1/3"), "burn", "sky+1/2")
    rows = {row.name: row for row in recipe_rows.rows(recipe)}
    plan = print_plan(recipe)
    given_s = {step.area: step.seconds for step in plan.steps if step.do == "expose"}
    assert rows["sky"].seconds == f"{given_s['sky']:.2f} s" == f"{burn_seconds(10, Fraction(1, 2)):.2f} s"
    changes = [mark.at for step in plan.steps for mark in step.marks if mark.cue == "change"]
    assert changes == [pytest.approx(dodge_seconds(10, Fraction(1, 3)))]
    assert rows["wall"].seconds == f"{changes[0]:.2f} s"


@pytest.mark.parametrize(
    ("text", "kind", "area", "stops"),
    [
        ("wall", "dodge", "wall", Fraction(-1, 3)),
        ("sky", "burn", "sky", Fraction(1, 3)),
        ("wall-1/4", "burn", "wall", Fraction(-1, 4)),  # the sign says which it is
        ("side-light+½", "dodge", "side-light", Fraction(1, 2)),
        ("upper sky +0.25", "burn", "upper sky", Fraction(1, 4)),
    ],
)
def test_an_area_by_its_name_and_size(text: str, kind: Any, area: str, stops: Fraction) -> None:
    made = recipe_edits.added(begun(), kind, text)
    areas: list[Dodge | Burn] = [*made.dodge, *made.burn]
    assert [(a.area, a.stops) for a in areas] == [(area, stops)]
    assert bool(made.burn) == (stops > 0)


def test_seconds_typed_are_turned_into_the_stops_that_give_them() -> None:
    recipe = recipe_edits.added(begun(), "burn", "sky")
    row = next(row for row in recipe_rows.rows(recipe) if row.kind == "burn")
    made = recipe_edits.typed(recipe, row, "amount", "10.0")
    assert made.burn[0].stops == 1  # as long again as the base is one stop
    with pytest.raises(ValueError, match="cannot be held back"):
        dodge = recipe_edits.added(begun(), "dodge", "wall")
        row = next(row for row in recipe_rows.rows(dodge) if row.kind == "dodge")
        recipe_edits.typed(dodge, row, "amount", "10.0")


def test_a_burn_through_another_grade_keeps_its_light_and_comes_back() -> None:
    recipe = recipe_edits.added(begun(), "burn", "sky+1")
    row = next(row for row in recipe_rows.rows(recipe) if row.kind == "burn")
    through = recipe_edits.typed(recipe, row, "filters", "5")
    assert (through.burn[0].seconds, through.burn[0].stops) == (10.0, None)
    assert recipe_edits.typed(through, row, "filters", "").burn == recipe.burn


def test_the_timeline_shows_changes_of_hands_and_of_filters() -> None:
    recipe = recipe_edits.second_added(recipe_edits.added(begun(), "dodge", "wall-1"), "5")
    upper, lower = timeline(print_plan(recipe), 80)
    assert upper.startswith("▕-wall")
    assert "┊base" in upper and "‖grade 5‖" in upper and "whole sheet" in upper
    assert "10.0" in lower and "5.0" in lower
    assert timeline(print_plan(recipe), 8) == ["2 exposu", ""]


def test_seconds_are_typed_as_they_are_shown() -> None:
    """With 10 % of dry-down a base of 10 s is shown, and given, as 9: typed, 9 is 10 s of the recipe, and shows 9."""
    dried = replace(begun(), dry_down_percent=10.0)
    dried = recipe_edits.second_added(dried, "5")
    for typed, kept in (("9", 10.0), ("4.5", 5.0), ("9.37", 10.41)):
        base = recipe_edits.typed(dried, row_of(dried, "base"), "amount", typed)
        assert base.base_s == kept
        assert row_of(base, "base").seconds == f"{float(typed):.2f} s"
        burn = recipe_edits.typed(dried, row_of(dried, "burn"), "amount", typed)
        assert burn.burn[0].seconds == kept
        assert row_of(burn, "burn").seconds == f"{float(typed):.2f} s"
    more = recipe_edits.typed(dried, row_of(dried, "base"), "amount", "+1")
    assert more.base_s == 20.0


def test_another_size_takes_no_measure_along() -> None:
    measured = Enlargement(frame="6x7cm", sheet="18x24cm", detail_negative_mm=10, detail_print_mm=80)
    recipe = replace(begun(), enlargement=measured)
    same = recipe_edits.typed(recipe, row_of(recipe, "sheet"), "name", "6x7cm 18x24cm f/8")
    assert same.enlargement.detail_print_mm == 80
    other = recipe_edits.typed(recipe, row_of(recipe, "sheet"), "name", "30x40cm")
    assert (other.enlargement.sheet, other.enlargement.detail_print_mm) == ("30x40cm", None)


def row_of(recipe: Recipe, kind: str) -> recipe_rows.Row:
    return next(row for row in recipe_rows.rows(recipe) if row.kind == kind)


@pytest.mark.parametrize("kind", ["dodge", "burn"])
def test_a_name_that_is_none_or_anothers_is_refused(kind: Any) -> None:
    recipe = recipe_edits.added(recipe_edits.added(begun(), kind, "wall"), kind, "door")
    (row,) = [row for row in recipe_rows.rows(recipe) if row.name == "door"]
    for bad, says in (("", "needs a name"), (" ", "needs a name"), ("wall", f"a {kind} named wall already")):
        with pytest.raises(ValueError, match=says):
            recipe_edits.typed(recipe, row, "name", bad)
        with pytest.raises(ValueError, match=says):
            recipe_edits.added(recipe, kind, bad)
    assert recipe_edits.typed(recipe, row, "name", "door") == recipe
    other: Any = "burn" if kind == "dodge" else "dodge"
    both = recipe_edits.added(recipe, other, "door")  # held back, and burnt in
    with pytest.raises(ValueError, match=f"a {other} named door already"):
        recipe_edits.typed(both, row, "amount", "-1/4" if kind == "burn" else "+1/4")


MACHINE = re.compile(r"base_s|enlargement|\.grade|\.seconds|\.stops|in quotes|must be a number|area:")
NUMBERS = ("", "0", "9", "-1", "+9", "-9", "+20", "5000", "0.0000001", "2 1/2")
WORDS = ("60M 45Y", "nine", "300M", "-5M", "f/0", "f/500", "1x1", "9999x9999cm", "18x24cm", "0x0cm", "'", "wall")
TYPED = st.sampled_from((*NUMBERS, *WORDS))


@given(st.sampled_from(recipe_rows.PAPER_KINDS), st.lists(st.tuples(st.integers(0, 30), TYPED), max_size=6))
def test_faults_are_in_the_words_of_the_rows(paper: str, keys: list[tuple[int, str]]) -> None:
    recipe = replace(recipe_rows.empty(paper), title="quay", dodge=(Dodge("wall", Fraction(1, 3)),))
    recipe = recipe_edits.second_added(recipe_edits.added(recipe, "burn", "sky"), "60M" if paper == "ra4" else "5")
    for number, text in keys:
        rows = recipe_rows.rows(recipe)
        try:
            recipe = act(recipe, "type" if number % 3 else "nudge", number % len(rows), text)
        except ValueError as error:
            assert not MACHINE.search(str(error)), error
        assert not MACHINE.search(recipe_rows.fault(recipe))


@pytest.mark.parametrize(
    ("row", "field", "text", "says"),
    [
        ("base", "name", "+9", "base: must be 3600 s at most"),
        ("sheet", "name", "f/500", "aperture: must be 128 at most"),
        ("filters", "name", "9", "'9' is no grade (00 to 5, like 2 1/2) and no pack (like 60M 45Y)"),
        ("filters", "name", "300M", "'300M' has more than 250 units of a filter; no head has that"),
        ("title", "name", "", "a print needs a name, the negative's for example"),
    ],
)
def test_what_cannot_stand_in_a_row_is_refused_in_its_words(row: str, field: Any, text: str, says: str) -> None:
    recipe = begun()
    (there,) = [each for each in recipe_rows.rows(recipe) if each.kind == row]
    with pytest.raises(ValueError, match=f"^{re.escape(says)}$"):
        recipe_edits.typed(recipe, there, field, text)


def test_the_speed_goes_with_the_grade_that_is_turned() -> None:
    """4 to 5 want twice the light of 00 to 3 1/2 (the filter set's leaflet), so P is half of it through them."""
    recipe = replace(empty("bw"), title="Hut", paper=Paper("bw", speed=200.0, range=100.0), filters=Filters(grade="3 1/2"))
    hard = nudged(recipe, Row("filters"), 1)
    assert (hard.filters.grade, hard.paper.speed, hard.paper.range) == ("4", 100, 100)
    assert nudged(hard, Row("filters"), -1).paper == recipe.paper
    assert typed_in(recipe, Row("filters"), "name", "5").paper.speed == 100
    assert typed_in(recipe, Row("filters"), "name", "").paper.speed == 200  # none in: nothing is known of that


def test_three_exposures_in_turn_are_named_by_the_seconds_they_come_to() -> None:
    lights = Filters(head="tricolour", red=12.0, green=8.0, blue=6.0)
    burn = Burn("sky", seconds=6.0, filters=replace(lights, red=6.0, green=4.0, blue=3.0))
    recipe = Recipe(recipe=1, title="Fair", base_s=12.0, paper=Paper("ra4"), filters=lights, burn=(burn,))
    made = typed_in(typed_in(recipe, Row("base"), "amount", "18"), Row("burn", 0), "amount", "9")
    assert filters_text(made.filters) == "R18 G12 B9 in turn"
    assert filters_text(made.burn[0].filters or lights) == "R9 G6 B4.5 in turn"
    lit = [(step.area, step.filters, step.seconds) for step in print_plan(made).steps if step.do == "expose"]
    assert lit[:3] == [("base", "red", 18), ("base", "green", 12), ("base", "blue", 9)]
    assert sorted(lit[3:]) == [("sky", "blue", 4.5), ("sky", "green", 6), ("sky", "red", 9)]
    up = nudged(recipe, Row("base"), 12)  # a stop
    assert (up.base_s, up.filters.green, up.filters.blue) == (24, 16, 12)
