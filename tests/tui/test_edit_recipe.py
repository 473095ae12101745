"""A recipe made and changed on the screen, without a text editor."""

from fractions import Fraction
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.stage import next_action, press, recipe_in, stage, text_of, until
from timer.documents.recipe_file import load_recipe
from tui.app import LamphouseApp
from tui.screens.edit_recipe import EditRecipe
from tui.screens.prepare import Prepare

MAX_KEYS = 25


async def edited(app: LamphouseApp, pilot: Pilot[int]) -> EditRecipe:
    await until(pilot, lambda: isinstance(app.screen, EditRecipe) and next_action(app) != "")
    assert isinstance(app.screen, EditRecipe)
    return app.screen


async def opened(app: LamphouseApp, pilot: Pilot[int]) -> EditRecipe:
    """The page of the one recipe there is."""
    await press(app, pilot, "down", "e")
    return await edited(app, pilot)


async def test_two_areas_from_nothing_in_few_keys(home: Path) -> None:
    keys = ["e", *"quay", "enter", *"12", "enter", "h", *"wall", "enter", "left", "b", *"sky", "enter", "right", "right"]
    async with stage() as (app, pilot):
        await press(app, pilot, keys[0])
        await edited(app, pilot)
        await press(app, pilot, *keys[1:])
        await until(pilot, lambda: "2 exposures, 17.0 s" in text_of(app, "choice"))
        assert "wall─" in text_of(app, "timeline")
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await until(pilot, lambda: "print: quay" in text_of(app, "choice"))
    made = load_recipe(home / "recipes" / "quay.toml")
    assert (made.title, made.negative, made.base_s) == ("quay", "quay", 12.0)
    assert [(d.area, d.stops) for d in made.dodge] == [("wall", Fraction(-5, 12))]
    assert [(b.area, b.stops) for b in made.burn] == [("sky", Fraction(1, 2))]
    assert len(keys) + 1 <= MAX_KEYS


async def test_typed_amounts_tools_overlap_order_and_a_second_grade(home: Path) -> None:
    path = recipe_in(home)
    async with stage() as (app, pilot):
        page = await opened(app, pilot)
        await press(app, pilot, *"12.5", "enter", "down", "t", *"card_on_wire", "enter", "m", *"round", "enter")
        await press(app, pilot, "h", *"face-1/4", "enter", "o")
        assert "face" in text_of(app, "list") and "with gate" in text_of(app, "list")
        await press(app, pilot, "less_than_sign", "b", *"door+1/2", "enter", *"+2/3", "enter")
        await press(app, pilot, "b", *"sill", "enter", *"3.0", "enter", "s", "5", "enter", "down", "enter")
        assert page.says == "" and isinstance(app.screen, Prepare)
    made = load_recipe(path)
    assert made.base_s == 12.5
    assert [d.area for d in made.dodge] == ["face", "gate"]
    assert made.dodge[0].together == "gate"
    assert (made.dodge[1].tool, made.dodge[1].motion) == ("card on wire", "round")
    burns = {b.area: b for b in made.burn}
    assert burns["door"].stops == Fraction(2, 3)
    assert float(burns["sill"].stops or 0) == pytest.approx(0.31, abs=0.005)  # log2(15.5 / 12.5)
    assert burns["whole sheet"].filters and burns["whole sheet"].filters.grade == "5"
    assert burns["whole sheet"].seconds == 6.25


async def test_a_dodge_becomes_a_burn_and_back_with_its_tool(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await opened(app, pilot)
        await press(app, pilot, "down", "t", *"wand", "enter", *["right"] * 5)
        burn = next(b for b in page.recipe.burn if b.area == "gate")
        assert (burn.stops, burn.tool) == (Fraction(1, 6), "wand")  # -1/3, -1/4, -1/6, -1/12, +1/12, +1/6
        assert page.row.name == "gate"
        await press(app, pilot, *"-1/2", "enter")
        assert [(d.area, d.stops, d.tool) for d in page.recipe.dodge] == [("gate", Fraction(-1, 2), "wand")]


async def test_a_dodge_in_the_second_exposure_has_its_row_here_and_on_prepare(home: Path) -> None:
    path = recipe_in(home)
    async with stage((80, 30)) as (app, pilot):
        await opened(app, pilot)
        await press(app, pilot, "s", "5", "enter")
        await until(pilot, lambda: "whole sheet" in text_of(app, "list"))
        page = await edited(app, pilot)
        while page.row.name != "whole sheet":
            await press(app, pilot, "down")
        assert "h: dodge in whole sheet" in next_action(app)
        await press(app, pilot, "h", *"roof-1/4", "enter")
        assert page.row.name == "roof"
        await press(app, pilot, "left", "t", *"card", "enter", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await until(pilot, lambda: "  dodge roof" in text_of(app, "plan"))
    made = load_recipe(path)
    assert [d.area for d in made.dodge] == ["gate"]
    assert [(d.area, d.stops, d.tool) for b in made.burn for d in b.dodge] == [("roof", Fraction(-1, 3), "card")]


async def test_what_was_measured_and_what_is_written_of_it_are_typed_here_too(home: Path) -> None:
    path = recipe_in(home)
    async with stage() as (app, pilot):
        page = await opened(app, pilot)

        async def to(kind: str) -> None:
            while page.row.kind != kind:
                await press(app, pilot, "down")

        await to("sheet")
        await press(app, pilot, "n", *"24x36mm_18x24cm_f/8_border5mm_detail10:80mm")
        assert "distance450mm" in text_of(app, "then")
        await press(app, pilot, "enter")
        assert "border5mm" in text_of(app, "list")
        await to("edges")
        await press(app, pilot, "n", *"top", "enter")
        await to("flash")
        await press(app, pilot, "n", *"after", "enter")
        await to("dry-down")
        await press(app, pilot, "8", "enter", "right")
        await to("picture")
        await press(app, pilot, "n", *"gate.png", "enter")
        await to("notes")
        await press(app, pilot, "n", *"more_on_the_left", "enter", "n", *"!", "enter", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
    made = load_recipe(path)
    place = made.enlargement
    assert (place.border_mm, place.detail_negative_mm, place.detail_print_mm) == (5, 10, 80)
    assert made.edges and made.edges.which == ("top",)
    assert made.flash and made.flash.when == "after"
    assert (made.dry_down_percent, made.picture, made.notes) == (9, "gate.png", "more on the left!")


async def test_a_light_that_the_lamp_may_not_give_is_said_at_once(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await opened(app, pilot)
        await press(app, pilot, *"130", "enter")
        assert page.row.kind == "base"
        assert text_of(app, "choice").startswith("base: 130.0 s is over the 120 s")
        assert "open the lens a stop" in text_of(app, "choice") and "whole sheet" in text_of(app, "choice")
        await press(app, pilot, "u", "down", *"+9", "enter")  # the dodge, as a burn of 2 s x 511
        assert "gate: 1022.0 s is over" in text_of(app, "choice") and "split it in two" in text_of(app, "choice")
        await press(app, pilot, "u")
        assert "over the" not in text_of(app, "choice")
        await press(app, pilot, "up", *"130", "enter", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await until(pilot, lambda: "base: 130.0 s is over the 120 s" in text_of(app, "advice"))


async def test_every_change_is_taken_back_one_by_one(home: Path) -> None:
    path = recipe_in(home)
    before = path.read_text()
    async with stage() as (app, pilot):
        page = await opened(app, pilot)
        was = page.recipe
        await press(app, pilot, "left", "down", "x", "h", *"post", "enter")
        assert page.recipe != was
        await press(app, pilot, "u", "u", "u")
        assert page.recipe == was
        await press(app, pilot, "u")
        assert "nothing more" in text_of(app, "choice")
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
    assert path.read_text() == before


async def test_what_is_written_over_can_be_taken_back_and_comments_are_said(home: Path) -> None:
    path = recipe_in(home)
    before = path.read_text()
    async with stage() as (app, pilot):
        await opened(app, pilot)
        await press(app, pilot, "9", "enter")
        assert "into gate.toml" in next_action(app) and "comments go" in next_action(app)
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        assert load_recipe(path).base_s == 9.0
        await press(app, pilot, "u")
        await until(pilot, lambda: path.read_text() == before)


async def test_a_file_changed_elsewhere_meanwhile_is_not_written_over(home: Path) -> None:
    path = recipe_in(home)
    async with stage() as (app, pilot):
        await opened(app, pilot)
        await press(app, pilot, "9", "enter")
        path.write_text(path.read_text().replace("2.0", "3.0"))
        await press(app, pilot, "enter")
        assert "was changed since" in app.said.trouble
        assert isinstance(app.screen, EditRecipe)
    assert load_recipe(path).base_s == 3.0


async def test_from_another_recipe_it_is_one_of_its_own_with_a_title_of_its_own(home: Path) -> None:
    path = recipe_in(home)
    before = path.read_text()
    async with stage() as (app, pilot):
        await opened(app, pilot)
        await press(app, pilot, "w", "right", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await press(app, pilot, "e")
        await edited(app, pilot)
        await press(app, pilot, "w", "right", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
    assert path.read_text() == before
    made = [load_recipe(p) for p in sorted(path.parent.glob("gate-in*.toml"))]
    assert [r.title for r in made] == ["Gate in the rain, 2", "Gate in the rain"]
    assert {r.negative for r in made} == {"Gate in the rain"}


async def test_bad_words_are_said_and_change_nothing(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await opened(app, pilot)
        was = page.recipe
        for keys, says in (
            (["1", *"x", "enter"], "not a time in seconds"),
            (["down", "+", *"9/", "enter"], "not an amount in stops"),
            (["h", "enter"], "needs a name"),
            (["s", *"nine", "enter"], "nine"),
        ):
            await press(app, pilot, *keys)
            assert says in text_of(app, "news"), keys
            assert page.recipe == was
            assert page.typing  # as it was typed, to be mended
            await press(app, pilot, "escape")
            assert (page.typing, text_of(app, "news")) == (False, "")


async def test_a_name_that_is_none_or_anothers_is_refused_and_touches_no_other_area(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await opened(app, pilot)
        await press(app, pilot, "h", *"wall", "enter", "h", *"door", "enter")
        was = page.recipe
        assert page.row.name == "door"
        await press(app, pilot, "n", "enter")
        assert "needs a name" in text_of(app, "news") and page.recipe == was
        await press(app, pilot, *"wall", "enter")
        assert "a dodge named wall already" in text_of(app, "news") and page.recipe == was
        await press(app, pilot, *"paper", "enter")
        assert [(d.area, d.together) for d in page.recipe.dodge] == [("gate", ""), ("wall", ""), ("wallpaper", "")]
        await press(app, pilot, "h", *"gate", "enter")
        assert "a dodge named gate already" in text_of(app, "news")


async def test_an_area_may_not_turn_into_another_of_its_name(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await opened(app, pilot)
        await press(app, pilot, "b", *"gate", "enter", "up", "up")
        assert (page.row.kind, page.row.name) == ("dodge", "gate")
        was = page.recipe
        await press(app, pilot, *"+1/4", "enter")
        assert "a burn named gate already" in text_of(app, "news") and page.recipe == was
        await press(app, pilot, "escape", "down", "down", "right")
        assert (page.row.kind, page.row.name) == ("burn", "gate")  # and not the dodge of that name


async def test_the_cursor_stays_with_an_area_that_turns_by_what_is_typed(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await opened(app, pilot)
        await press(app, pilot, "h", *"wall", "enter", *"+1/4", "enter")
        assert (page.row.kind, page.row.name) == ("burn", "wall")
        await press(app, pilot, "x")
        assert [b.area for b in page.recipe.burn] == ["sky"]
        await press(app, pilot, "u", "u")
        assert (page.row.kind, page.row.name) == ("dodge", "wall")


async def test_a_size_that_is_none_is_refused_where_it_was_typed(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await opened(app, pilot)
        await press(app, pilot, "up", "up", "n", *"24x36mm_18x24", "enter")
        assert text_of(app, "news").startswith("sheet: '18x24' is not a size")
        await press(app, pilot, *"cm", "enter")
        assert page.recipe.enlargement.sheet == "18x24cm"


async def test_what_is_not_written_is_asked_about_once(home: Path) -> None:
    path = recipe_in(home)
    before = path.read_text()
    async with stage() as (app, pilot):
        await opened(app, pilot)
        await press(app, pilot, "right", "q")
        assert "Not written yet" in next_action(app)
        await press(app, pilot, "right", "q")
        assert isinstance(app.screen, EditRecipe)
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
    assert path.read_text() == before


async def test_space_is_dark_now_while_words_are_typed(home: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "e")
        page = await edited(app, pilot)
        darks: list[bool] = []
        app.darkroom.dark = lambda: darks.append(True)  # type: ignore[method-assign]
        await press(app, pilot, *"stair_", "space", *"well", "enter")
        assert darks
        assert page.recipe.title == "stair well"


async def test_with_paper_out_it_is_read_and_not_changed(home: Path) -> None:
    path = recipe_in(home)
    before = path.read_text()
    async with stage() as (app, pilot):
        page = await opened(app, pilot)
        await press(app, pilot, "right")
        was = page.recipe
        assert app.open_box(was.paper.kind)
        await press(app, pilot, "right", "x", "9", "h", "u", "n", "enter")
        assert page.recipe == was
        assert not page.typing
        assert "read only" in next_action(app)
        await press(app, pilot, "c")
        await until(pilot, lambda: not app.paper_out and "write it into" in next_action(app))
    assert path.read_text() == before


async def test_from_a_strips_pick(home: Path) -> None:
    from tui.screens.look_back import LookBack

    async with stage() as (app, pilot):
        job = app.choice.job()
        await app.push_screen(LookBack(job))
        await press(app, pilot, "2", "e")
        page = await edited(app, pilot)
        assert page.recipe.base_s == pytest.approx(job.plan.patches[1].seconds, rel=0.01)
        assert page.recipe.paper.kind == app.choice.paper


@pytest.mark.parametrize("size", [(40, 15), (80, 24), (160, 50)])
async def test_it_fits_every_screen(home: Path, size: tuple[int, int]) -> None:
    recipe_in(home)
    async with stage(size) as (app, pilot):
        await opened(app, pilot)
        await press(app, pilot, *["down"] * 9)
        assert ">" in text_of(app, "list")
        rows = [*text_of(app, "list").splitlines(), *text_of(app, "timeline").splitlines()]
        assert rows
        assert all(len(row) <= size[0] for row in rows)
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
