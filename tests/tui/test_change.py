"""A print to another size, and a print corrected by what was seen on it, on the screen."""

from fractions import Fraction
from pathlib import Path

import pytest

from tests.tui.stage import next_action, press, recipe_in, screen_text, stage, text_of, until
from timer.documents.recipe_file import load_recipe
from tui.change_page import ChangePage
from tui.screens.change_recipe import ChangeRecipe
from tui.screens.correct import Correct
from tui.screens.prepare import Prepare

PLACE = '[enlargement]\nframe = "24x36mm"\nsheet = "8x10in"\naperture = 8\n[filters]\nm = 60\ny = 50\n[[dodge]]'


@pytest.fixture
def colour(home: Path) -> Path:
    path = recipe_in(home, "ra4")
    path.write_text(path.read_text().replace("base_s = 2.0", "base_s = 10.0").replace("[[dodge]]", PLACE, 1))
    load_recipe(path)
    return path


async def test_to_another_size(colour: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "m")
        await until(pilot, lambda: isinstance(app.screen, ChangeRecipe))
        assert "nothing changed" in next_action(app)
        await pilot.press("left")
        await until(pilot, lambda: "x 0." in text_of(app, "list"))
        await pilot.press("right", "right", "right", "right", "right", "right")
        await until(pilot, lambda: "12x16in" in text_of(app, "list"))
        await pilot.press("down", "left")
        await until(pilot, lambda: "f/5.6" in text_of(app, "list"))
        assert "easel blades" in text_of(app, "list")
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await until(pilot, lambda: "11.6 s" in text_of(app, "plan"))  # 10 s x 2.327 / 2
    made = load_recipe(colour.parent / "gate-12x16in.toml")
    assert made.base_s == pytest.approx(11.64, abs=0.01)
    assert made.derived and made.derived.file == "gate.toml"
    assert load_recipe(colour).base_s == 10.0


async def test_a_sheet_that_is_not_in_the_list_is_typed(colour: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "m")
        await until(pilot, lambda: isinstance(app.screen, ChangeRecipe) and "nothing changed" in next_action(app))
        await press(app, pilot, "n", *"9.5x12in", "enter")
        await until(pilot, lambda: "sheet      9.5x12in" in text_of(app, "list"))
        await press(app, pilot, "right")  # from there to the list again
        assert "sheet      5x7in" in text_of(app, "list")
        await press(app, pilot, "n", *"9.5x12in", "enter", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
    made = load_recipe(colour.parent / "gate-9.5x12in.toml")
    assert made.enlargement.sheet == "9.5x12in"


async def test_corrected_by_what_was_seen(colour: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "b")
        await until(pilot, lambda: isinstance(app.screen, Correct))
        await pilot.press(*["right"] * 4)
        await until(pilot, lambda: "1/3 stop darker" in text_of(app, "list"))
        assert "first try +2/3 stop: past it, so that the right value lies between" in text_of(app, "list")
        await pilot.press("down", *["right"] * 3)
        await until(pilot, lambda: "it is too  green" in text_of(app, "list"))
        assert "Which head is it? h:" in text_of(app, "list")  # it asks, and does not guess
        assert "--" not in text_of(app, "list")
        assert "cannot be written so" in next_action(app)
        await press(app, pilot, "enter")  # nor is what was chosen lost
        assert isinstance(app.screen, Correct) and "it is too  green" in text_of(app, "list")
        await pilot.press("down", "down", "right")
        await until(pilot, lambda: "write it" in next_action(app))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        made = load_recipe(colour.parent / "gate-corrected.toml")
        assert (made.filters.m, made.filters.y, made.filters.head) == (55, 50, "dichroic")
        assert made.base_s == pytest.approx(10 * 2 ** (1 / 3) / 1.2**0.25, abs=0.01)
        await press(app, pilot, "b")
        await until(pilot, lambda: isinstance(app.screen, Correct))
        await pilot.press("left")
        await until(pilot, lambda: "since the direction turns" in text_of(app, "list"))
        assert "-1/6 stop" in text_of(app, "list")


async def test_a_head_that_was_named_is_not_asked_for_again(colour: Path) -> None:
    from tui.screens.test_sheet import TestSheet

    async with stage() as (app, pilot):
        await press(app, pilot, "down", "t")
        await until(pilot, lambda: isinstance(app.screen, TestSheet) and "which head" in next_action(app))
        await press(app, pilot, "h", "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await press(app, pilot, "b")
        await until(pilot, lambda: isinstance(app.screen, Correct))
        await press(app, pilot, "down", "right")
        assert "dichroic (dials)" in text_of(app, "list") and "write it" in next_action(app)


async def test_test_sheets_ask_for_the_head_and_become_runs(colour: Path) -> None:
    from tui.screens.expose import Expose
    from tui.screens.test_sheet import TestSheet

    async with stage() as (app, pilot):
        await press(app, pilot, "down", "t")
        await until(pilot, lambda: isinstance(app.screen, TestSheet))
        await until(pilot, lambda: "Which head" in text_of(app, "plan"))
        await press(app, pilot, "h")
        await until(pilot, lambda: "70M 60Y" in text_of(app, "plan"))
        await pilot.press("down")
        await until(pilot, lambda: "ladder of magenta" in text_of(app, "choice"))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Expose))


async def test_grade_box_and_head_are_rows_where_they_are_known(home: Path) -> None:
    path = recipe_in(home, "bw")
    place = PLACE.replace("m = 60\ny = 50", 'grade = "3"')
    path.write_text(path.read_text().replace("[[dodge]]", place, 1))
    (home / "corrections.toml").write_text('[heads.condenser]\nexponent = 0.85\n[boxes.spring]\ntime = 1.08\npack = "0"\n')
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "m")
        await until(pilot, lambda: isinstance(app.screen, ChangeRecipe))
        for row in ("grade", "box", "head"):
            assert row in text_of(app, "list")
        await pilot.press("down", "down", "right", "right", "down", "right")
        await until(pilot, lambda: "grade 3 to 4: x 2" in text_of(app, "list"))
        assert "box spring: time x 1.080" in text_of(app, "list")
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
    made = list(path.parent.glob("gate-*.toml"))
    assert len(made) == 1
    assert load_recipe(made[0]).filters.grade == "4"


async def test_the_last_correction_is_the_recipes_own(colour: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "b")
        await until(pilot, lambda: isinstance(app.screen, Correct))
        await press(app, pilot, *["right"] * 4, "down", *["right"] * 3, "down", "down", "right", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
    # another evening: each recipe knows its own last change, of density and of colour
    async with stage() as (app, pilot):
        jobs = {job.path.stem: job for job in app.darkroom.recipes().jobs if job.path}
        app.push_screen(Correct(jobs["gate"]))
        await until(pilot, lambda: isinstance(app.screen, Correct))
        await pilot.press("left")
        await until(pilot, lambda: "past it, so that" in text_of(app, "list"))
        await press(app, pilot, "q", "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        app.push_screen(Correct(jobs["gate-corrected"]))
        await until(pilot, lambda: isinstance(app.screen, Correct))
        await pilot.press("left", "down", *["right"] * 6)
        await until(pilot, lambda: "it is too  magenta" in text_of(app, "list"))
        # the first press against it proposes half; what is pressed on from there is written as it stands
        assert "1/6 stop lighter" in text_of(app, "list")
        assert "print: half of the last change, +1/3, since the direction turns" in text_of(app, "list")
        assert "now try 2.5M: half of the last change, since the colour has turned" in text_of(app, "list")


async def test_a_turned_direction_is_halved_first_and_then_obeyed(home: Path) -> None:
    path = recipe_in(home)
    path.write_text(
        'recipe = 1\ntitle = "Stair"\nbase_s = 8.0\npaper = {kind = "bw"}\n[[burn]]\narea = "window"\nstops = "1/2"\n'
        '[derived]\ntitle = "Stair"\nareas = [{area = "window", stops = "1/4"}]\n'
    )
    async with stage() as (app, pilot):
        app.push_screen(Correct(next(job for job in app.darkroom.recipes().jobs if job.path == path)))
        await until(pilot, lambda: isinstance(app.screen, Correct))
        await pilot.press("down", "left")
        await until(pilot, lambda: "window +1/2 ->" in text_of(app, "list") or "-1/8" in text_of(app, "list"))
        assert "window: half of the last change, +1/4" in text_of(app, "list")
        await pilot.press("left", "left")
        await until(pilot, lambda: "window -1/4: burn +1/2, 3.31 s -> burn +1/4, 1.51 s" in text_of(app, "list"))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
    (made,) = path.parent.glob("gate-corrected*.toml")
    assert load_recipe(made).burn[0].stops == Fraction(1, 4)


LIGHTS = 'head = "additive"\nred = 80\ngreen = 60\nblue = 50'


@pytest.mark.parametrize("head", ["additive", "tricolour"])
async def test_three_lights_are_corrected_and_tested_like_any_head(colour: Path, head: str) -> None:
    from tui.screens.test_sheet import TestSheet

    colour.write_text(colour.read_text().replace("m = 60\ny = 50", LIGHTS.replace("additive", head)))
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "b")
        await until(pilot, lambda: isinstance(app.screen, Correct))
        await pilot.press("down", *["right"] * 3)
        await until(pilot, lambda: "it is too  green" in text_of(app, "list"))
        assert "\n  head" not in text_of(app, "list")
        await until(pilot, lambda: "write it" in next_action(app))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        made = load_recipe(colour.parent / "gate-corrected.toml").filters
        assert made.green / made.red == pytest.approx(60 / 80 * 10**0.05, rel=1e-3)
        await press(app, pilot, "t")
        await until(pilot, lambda: isinstance(app.screen, TestSheet))
        await until(pilot, lambda: "patch 7: towards magenta" in text_of(app, "plan"))


async def test_a_ring_past_the_heads_end_is_said(colour: Path, home: Path) -> None:
    from tui.screens.test_sheet import TestSheet

    colour.write_text(colour.read_text().replace("y = 50", 'y = 50\nhead = "dichroic"'))
    (home / "settings.toml").write_text("[head]\ntop = 65\n")
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "t")
        await until(pilot, lambda: isinstance(app.screen, TestSheet))
        await until(pilot, lambda: "70M, and the head ends at 65" in text_of(app, "plan"))


async def test_one_area_is_corrected_by_itself_and_its_direction_remembered(home: Path) -> None:
    path = recipe_in(home)
    path.write_text(path.read_text().replace("base_s = 2.0", "base_s = 10.0"))
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "b")
        await until(pilot, lambda: isinstance(app.screen, Correct) and "gate" in text_of(app, "list"))
        assert "sky        (burn +1/2, 4.14 s)" in text_of(app, "list")
        await press(app, pilot, "down", "down", *["right"] * 4)
        # +1/2 and +1/3 more are 5/6: 10 s x (2^(5/6) - 1) = 7.82 s
        await until(pilot, lambda: "sky +1/3: burn +1/2, 4.14 s -> burn +5/6, 7.82 s" in text_of(app, "list"))
        await press(app, pilot, "up", *["right"] * 5)
        # a dodge of 1/3 with 5/12 more is a burn of 1/12: 10 s x (2^(1/12) - 1) = 0.595 s
        await until(pilot, lambda: "gate +5/12: dodge -1/3, 2.06 s -> burn +1/12, 0.595 s" in text_of(app, "list"))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        made = load_recipe(path.parent / "gate-corrected.toml")
        assert {b.area: str(b.stops) for b in made.burn} == {"sky": "5/6", "gate": "1/12"}
        assert load_recipe(path).base_s == made.base_s == 10.0
        await press(app, pilot, "b")
        await until(pilot, lambda: isinstance(app.screen, Correct) and "sky" in text_of(app, "list"))
        await press(app, pilot, "down", "left")
        await until(pilot, lambda: "sky: half of the last change, +1/3, since the direction turns" in text_of(app, "list"))
        assert "sky -1/6" in text_of(app, "list")


@pytest.mark.parametrize("page", ["m", "b"])
async def test_what_was_chosen_is_asked_about_once_before_it_is_left(colour: Path, page: str) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "down", page)
        await until(pilot, lambda: isinstance(app.screen, ChangePage))
        before = text_of(app, "list")
        await press(app, pilot, "right")
        chosen = text_of(app, "list")
        await press(app, pilot, "q")
        assert isinstance(app.screen, ChangePage) and "Not written yet. q again" in next_action(app)
        await press(app, pilot, "down", "up")
        assert text_of(app, "list") == chosen and "Not written yet" not in next_action(app)
        await press(app, pilot, "u")  # taken back there is nothing to ask about
        assert text_of(app, "list") == before and "nothing changed" in next_action(app)
        await press(app, pilot, "u")
        assert "nothing more to take back" in text_of(app, "list")
        await press(app, pilot, "right", "q", "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
    assert [path.name for path in colour.parent.iterdir()] == [colour.name]


async def test_undo_takes_back_one_choice_after_the_other(colour: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "b")
        await until(pilot, lambda: isinstance(app.screen, Correct))
        await press(app, pilot, "right", "down", "right", "down", "right", "down", "down", "right")
        seen = []
        for _ in range(4):
            seen.append(text_of(app, "list"))
            await press(app, pilot, "u")
        assert "gate       +1/12" in seen[0] and "gate       +1/12" not in seen[1]
        assert "clear, 10 CC" in seen[1] and "slight, 5 CC" in seen[2]
        assert "it is too  red" in seen[2] and "it is too  no cast" in seen[3]
        assert "1/12 stop darker" in seen[3] and "make it    as it is" in text_of(app, "list")


@pytest.mark.parametrize("page", ["b", "t"])
async def test_both_pages_ask_the_head_with_one_key_and_in_the_same_words(colour: Path, page: str) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "down", page)
        await until(pilot, lambda: app.screen.__module__ in ("tui.screens.correct", "tui.screens.test_sheet"))
        if page == "b":
            await press(app, pilot, "down", "right")
        await until(
            pilot, lambda: "Which head is it? h: CP filters or dichroic" in text_of(app, "list") + text_of(app, "plan")
        )
        assert "h: " in next_action(app)
        await press(app, pilot, "h")
        assert (
            "h: head" in next_action(app) and "dichroic (dials)" in screen_text(app) and "Which head" not in screen_text(app)
        )
        await press(app, pilot, "h")
        assert "CP filters (drawer)" in screen_text(app)
