"""Looking back at a test on the screen: area by area into a recipe, days later too, and the two times of split grade."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.stage import next_action, press, recipe_in, screen_text, stage, text_of, until
from timer.app.jobs import Job, load_job
from timer.app.strip_choice import StripChoice
from timer.documents.recipe import Filters
from timer.documents.recipe_file import load_recipe
from timer.documents.recipe_light import filters_text
from timer.notebook import to_read
from timer.plans.split_grade import split_of
from tui.app import LamphouseApp
from tui.screens.expose import Expose
from tui.screens.look_back import LookBack
from tui.screens.notebook import NotebookPage
from tui.screens.prepare import Prepare
from tui.screens.test_sheet import SECOND, TestSheet
from tui.screens.to_read import ToRead

THIRDS = StripChoice(seconds=10.0, step=Fraction(5, 12), patches=3)


def made(app: LamphouseApp, job: Job) -> int:
    """The test of ``job`` in the notebook, all its light given; its sheet."""
    from timer.app.reading import kept_for

    run = app.darkroom.notebook.begin_run(job.plan, made_for=kept_for(job))
    app.darkroom.notebook.end_run(run, "finished", "finished")
    return run


async def looking(app: LamphouseApp, pilot: Pilot[int], job: Job, run: int = 0) -> LookBack:
    await app.push_screen(LookBack(job, run))
    await until(pilot, lambda: isinstance(app.screen, LookBack) and "Enter" in next_action(app))
    page = app.screen
    assert isinstance(page, LookBack)
    return page


async def test_three_areas_become_a_recipe_beside_the_print(home: Path) -> None:
    path = recipe_in(home)
    before = path.read_text()
    async with stage(choice=THIRDS) as (app, pilot):
        test = StripChoice(10.0, Fraction(5, 12), 3, made_for=load_job(path)).job()
        run = made(app, test)
        await looking(app, pilot, test, run)
        await press(app, pilot, "a", *"window", "enter", "3", "a", *"wall", "enter", "left")
        rows = text_of(app, "rows").splitlines()
        # 3 and 1 1/2 of patches 5/12 stop apart: 10 x 2^(5/24) = 11.6 s, and 10 x 2^(5/6) - 11.6 = 6.3 s more
        assert [row.split() for row in rows[1:]] == [
            ["window", "3", "burn", "+5/8", "6.26", "s"],
            [">", "wall", "1½", "as", "the", "base", "11.6", "s"],
            ["base", "-", "as", "wall", "11.6", "s"],
        ]
        assert "lowest base, with burns (easier)" in text_of(app, "hands")
        assert "w: higher base, with dodges: base 17.8 s" in text_of(app, "hands")
        assert "beside gate.toml: base 2.00 to 11.6 s" in next_action(app)
        await press(app, pilot, "w")
        assert "dodge -5/8" in text_of(app, "rows")
        await press(app, pilot, "w", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare) and "read" in text_of(app, "choice"))
        assert app.darkroom.archive.tests_to_read() == []
        (new,) = path.parent.glob("gate-*.toml")
        recipe = load_recipe(new)
        assert recipe.base_s == pytest.approx(10 * 2 ** (5 / 24), abs=1e-3)
        assert [(b.area, b.stops) for b in recipe.burn] == [("window", Fraction(5, 8)), ("sky", Fraction(1, 2))]
        await press(app, pilot, "u")  # and it waits to be read again
        await until(pilot, lambda: "is gone again" in app.said.news)
        assert [waiting.run for waiting in app.darkroom.archive.tests_to_read()] == [run]
    assert path.read_text() == before


async def test_the_prints_own_areas_are_offered_and_what_was_said_is_taken_back(home: Path) -> None:
    path = recipe_in(home)
    async with stage() as (app, pilot):
        page = await looking(app, pilot, StripChoice(10.0, Fraction(1, 2), 3, made_for=load_job(path)).job())
        await press(app, pilot, "a")
        assert "gate, sky" in next_action(app)
        await press(app, pilot, "down", "down", "enter", "right")
        assert page.places.areas == (("sky", 3),)
        await press(app, pilot, "a", "down", "enter", "down", "2")
        assert (page.places.areas, page.places.base_said) == ((("sky", 3), ("gate", 2)), True)
        assert "the base as read" in text_of(app, "hands")
        await press(app, pilot, "a", *"sky", "enter")
        assert "there already" in text_of(app, "news")
        await press(app, pilot, "escape", "u", "u", "u", "u", "u")
        assert page.places.areas == ()
        assert "nothing more to take back" in text_of(app, "hands")
        await press(app, pilot, "a", "escape", "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))


async def test_a_new_negative_gets_its_name(home: Path) -> None:
    async with stage(choice=THIRDS) as (app, pilot):
        test = app.choice.job()
        await looking(app, pilot, test, made(app, test))
        await press(app, pilot, "a", *"window", "enter", "3", "a", *"wall", "enter", "1", "enter")
        assert "name of the print" in next_action(app)
        await press(app, pilot, *"Stair_well", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare) and "Stair well" in text_of(app, "choice"))
        recipe = load_recipe(home / "recipes" / "stair-well.toml")
        assert (recipe.title, recipe.negative, recipe.base_s) == ("Stair well", "Stair well", 10.0)
        assert [(b.area, b.stops) for b in recipe.burn] == [("window", Fraction(5, 6))]
        assert app.darkroom.archive.tests_to_read() == []


async def test_hard_ways_are_said_to_be_hard(home: Path) -> None:
    async with stage() as (app, pilot):
        await looking(app, pilot, StripChoice(2.0, Fraction(1), 5).job())
        await press(app, pilot, "a", *"wall", "enter", "1", "a", *"hat", "enter", "2", "down", "5")
        assert "the base as read" in text_of(app, "hands")
        assert "hands do one thing at a time" in text_of(app, "hands")  # 30 s and 28 s held back, of 32 s
        assert "more than half of the base" in text_of(app, "hands")


async def test_days_later_from_the_list_of_tests_to_read(home: Path) -> None:
    path = recipe_in(home)
    async with stage() as (app, pilot):
        run = made(app, StripChoice(10.0, Fraction(1, 2), 3, made_for=load_job(path)).job())
        made(app, THIRDS.job())
    async with stage() as (app, pilot):
        assert "a: 2 to read" in next_action(app)
        await press(app, pilot, "a")
        await until(pilot, lambda: isinstance(app.screen, ToRead) and "Gate in the rain" in text_of(app, "list"))
        assert "made for: no print" in text_of(app, "list")
        await press(app, pilot, "x")
        await until(pilot, lambda: "no print" not in text_of(app, "list"))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, LookBack) and f"test {run}: " in text_of(app, "choice"))
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, ToRead))  # left unread
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, LookBack))
        await press(app, pilot, "3")
        await until(pilot, lambda: "base of gate.toml" in next_action(app))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare) and "Gate" in text_of(app, "choice"))
        assert load_recipe(path).base_s == pytest.approx(20.0)
        assert "to read" not in next_action(app)


async def test_from_the_notebook(home: Path) -> None:
    async with stage() as (app, pilot):
        run = made(app, THIRDS.job())
        app.darkroom.archive.mark_read(run)
        app.darkroom.notebook.begin_run(load_job(recipe_in(home)).plan, recipe=(home / "recipes" / "gate.toml").read_text())
        await press(app, pilot, "n")
        await until(pilot, lambda: isinstance(app.screen, NotebookPage) and "Gate" in text_of(app, "list"))
        assert "read it" not in next_action(app)
        await press(app, pilot, "a")
        assert isinstance(app.screen, NotebookPage)  # a print is no test
        await press(app, pilot, "down", "a")
        await until(pilot, lambda: isinstance(app.screen, LookBack) and f"test {run}: " in text_of(app, "choice"))


@pytest.mark.parametrize("size", [(80, 24), (40, 15), (160, 50)])
async def test_it_fits_every_screen(size: tuple[int, int]) -> None:
    async with stage(size) as (app, pilot):
        await looking(app, pilot, THIRDS.job())
        await press(app, pilot, "a", *"window", "enter", "3", "a", *"wall", "enter", "1")
        assert all(len(row) <= size[0] for row in text_of(app, "rows").splitlines())
        assert all(len(row) <= size[0] for row in next_action(app).splitlines()), next_action(app)
        for word in ("window", "wall", "base", "burn +5/6"):
            assert word in screen_text(app)


# ── split grade ──────────────────────────────────────────────────────────────


async def second_strip_of(app: LamphouseApp, pilot: Pilot[int], path: Callable[[], Path]) -> None:
    """On the page of the second strip: its pick goes into the recipe, both numbers of it."""
    await until(pilot, lambda: isinstance(app.screen, TestSheet) and SECOND in text_of(app, "choice"))
    page = app.screen
    assert isinstance(page, TestSheet)
    plan = page.plan()
    assert [(s.area, s.filters) for s in plan.steps if s.do == "expose"][:2] == [
        (f"patches 1 to {len(plan.patches)}", "grade 00"),
        (f"{'patches 1 to ' if page.strip.way == 'cover' else 'patch '}{len(plan.patches)}", "grade 5"),
    ]
    await press(app, pilot, "enter")
    await until(pilot, lambda: isinstance(app.screen, Expose))
    job = app.screen.job  # type: ignore[attr-defined]
    run = made(app, job)
    await press(app, pilot, "q")
    await until(pilot, lambda: isinstance(app.screen, Prepare))
    again = app.darkroom.archive.test(run)  # as it is days later
    assert again.picks == job.picks
    await looking(app, pilot, again, run)
    await press(app, pilot, "2")
    await press(app, pilot, "enter")
    await until(pilot, lambda: isinstance(app.screen, Prepare))
    recipe = load_recipe(path())
    second = split_of(recipe)
    assert second and second.filters
    assert (filters_text(recipe.filters), filters_text(second.filters)) == ("grade 00", "grade 5")
    assert recipe.base_s == pytest.approx(job.picks[0].split.first_s, abs=0.001)
    assert second.seconds == pytest.approx(plan.patches[1].seconds, abs=0.001)


async def test_split_grade_from_a_strips_pick(home: Path) -> None:
    path = recipe_in(home)
    path.write_text(path.read_text().replace("[[dodge]]", '[filters]\ngrade = "00"\n[[dodge]]', 1))
    async with stage() as (app, pilot):
        soft = StripChoice(8.0, Fraction(1, 2), 3, made_for=load_job(path)).job()
        run = made(app, soft)
        await looking(app, pilot, soft, run)
        await press(app, pilot, "3", "g", *"00", "enter")
        assert "two different grades" in text_of(app, "news")
        await press(app, pilot, "backspace", "backspace", "5", "enter")
        await until(pilot, lambda: "grade 5 over 16.0 s grade 00" in text_of(app, "choice"))
        assert [test.run for test in app.darkroom.archive.tests_to_read()] == [run]  # not before the second one is made
        await second_strip_of(app, pilot, lambda: path)
        assert run not in [test.run for test in app.darkroom.archive.tests_to_read()]
        assert [b.area for b in load_recipe(path).burn] == ["whole sheet", "sky"]


async def test_split_grade_of_a_new_negative(home: Path) -> None:
    async with stage() as (app, pilot):
        await looking(app, pilot, StripChoice(8.0, Fraction(1, 2), 3).job())
        await press(app, pilot, "g", *"Quay", "enter", *"00,5", "enter")
        await second_strip_of(app, pilot, lambda: home / "recipes" / "quay.toml")
        assert load_recipe(home / "recipes" / "quay.toml").negative == "Quay"


async def test_split_grade_of_a_print_that_has_two(home: Path) -> None:
    path = recipe_in(home)
    text = path.read_text().replace("[[dodge]]", '[filters]\ngrade = "00"\n[[dodge]]', 1)
    path.write_text(text + '[[burn]]\narea = "whole sheet"\nseconds = 3.0\nfilters = { grade = "5" }\n')
    async with stage() as (app, pilot):
        await pilot.press("down")
        await press(app, pilot, "t", "down", "s", "p", "w", "left", "right")
        assert "grade 5 over 2.00 s grade 00" in text_of(app, "choice")
        await second_strip_of(app, pilot, lambda: path)


async def test_a_second_strip_read_by_area(home: Path) -> None:
    """One area is burnt in through the second grade, as its own light is."""
    from timer.app.picks import picks_of
    from timer.plans.split_grade import Split, second_strip

    path = recipe_in(home)
    split = Split(Filters(grade="00"), 6.0, Filters(grade="5"))
    plan = second_strip(split.first, 6.0, split.second, 2.0, Fraction(1, 2), 3, "cover", paper="bw")
    from dataclasses import replace

    picks = tuple(replace(pick, split=split) for pick in picks_of(plan))
    async with stage() as (app, pilot):
        test = Job(plan, made_for=load_job(path), picks=picks)
        assert to_read.find(app.darkroom.notebook, made(app, test)).unread
        await looking(app, pilot, test)
        await press(app, pilot, "a", *"hat", "enter", "3", "down", "1", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        (new,) = path.parent.glob("gate-*.toml")
        recipe = load_recipe(new)
        whole, hat = split_of(recipe), next(b for b in recipe.burn if b.area == "hat")
        assert whole and (recipe.base_s, whole.seconds) == (6.0, 2.0)
        assert hat.seconds == pytest.approx(2.0, abs=0.001)  # two half stops more than 2 s
