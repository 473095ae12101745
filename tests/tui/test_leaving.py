"""What would be lost by leaving is asked about once, in the page; and what was typed and cannot stand is kept to be mended."""

import time
from pathlib import Path

import pytest

from tests.tui.stage import next_action, press, recipe_in, stage, text_of, until
from timer.app import baths as clocks
from timer.app.jobs import load_job
from timer.craft.processing import Bath
from timer.notebook.store import Notebook
from tui.screens.edit_recipe import EditRecipe
from tui.screens.look_back import LookBack
from tui.screens.notebook import NotebookPage
from tui.screens.prepare import Prepare
from tui.screens.solve import Solve


async def test_escape_on_the_first_page_ends_nothing() -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "escape", "escape")
        assert app.return_code is None and isinstance(app.screen, Prepare)
        await press(app, pilot, "n")
        await until(pilot, lambda: isinstance(app.screen, NotebookPage))
        await press(app, pilot, "escape")  # a page is left by it
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await pilot.press("q")
        await until(pilot, lambda: app.return_code == 0)


@pytest.mark.parametrize("key", ["q", "ctrl+c"])
async def test_a_bath_clock_that_runs_is_asked_about_once(key: str) -> None:
    async with stage() as (app, pilot):
        now = time.monotonic()
        made = clocks.start("RA-4", "drum", "inside", (Bath("developer", 60),), now, hands_free=False)
        app.clocks.all.append(clocks.answer(made, now))
        await press(app, pilot, key)
        assert next_action(app).startswith("A bath clock runs: q again leaves")
        await press(app, pilot, "s")
        assert next_action(app).startswith("Enter: get ready")
        await press(app, pilot, key)
        assert app.return_code is None
        await press(app, pilot, "escape")
        assert next_action(app).startswith("Enter: get ready")
        await press(app, pilot, key)
        app.keys.forget()
        await pilot.press(key)
        await until(pilot, lambda: app.return_code == 0)


async def test_areas_that_were_read_are_not_left_without_a_question(home: Path) -> None:
    async with stage() as (app, pilot):
        await app.push_screen(LookBack(app.choice.job()))
        await until(pilot, lambda: isinstance(app.screen, LookBack) and next_action(app) != "")
        page = app.screen
        assert isinstance(page, LookBack)
        await press(app, pilot, "a", *"wall", "enter", "1", "q")
        assert "Not written yet" in next_action(app)
        await press(app, pilot, "down", "escape")
        assert len(app.screen_stack) == 3 and page.places.areas
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))


async def test_a_pick_without_areas_is_left_at_once_to_be_read_later(home: Path) -> None:
    async with stage() as (app, pilot):
        await app.push_screen(LookBack(app.choice.job()))
        await until(pilot, lambda: isinstance(app.screen, LookBack) and next_action(app) != "")
        await press(app, pilot, "2", "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))


async def test_a_look_that_is_not_taken_is_asked_about_once(home: Path) -> None:
    job = load_job(recipe_in(home, "ra4"))
    with Notebook(home / "notebook.db") as book:
        run = book.begin_run(job.plan)
    async with stage() as (app, pilot):
        await app.push_screen(Solve(job, run))
        await until(pilot, lambda: isinstance(app.screen, Solve) and next_action(app) != "")
        await press(app, pilot, "up", "escape")
        assert "Look not taken." in next_action(app)
        await press(app, pilot, "up", "q")
        assert isinstance(app.screen, Solve)
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))


async def test_what_was_typed_and_cannot_stand_is_kept_and_mended(home: Path) -> None:
    recipe_in(home)
    async with stage((40, 15)) as (app, pilot):
        await press(app, pilot, "down", "e")
        await until(pilot, lambda: isinstance(app.screen, EditRecipe) and next_action(app) != "")
        page = app.screen
        assert isinstance(page, EditRecipe)
        await press(app, pilot, "up", "up", "n", *"24x36mm_18x24cm_f/x")
        was = page.recipe
        await press(app, pilot, "enter")
        assert "an aperture, like f/8" in text_of(app, "news")
        assert page.entry and page.entry.text.endswith("f/x") and "f/x_" in next_action(app).splitlines()[0]
        assert all(len(row) <= 40 for row in next_action(app).splitlines()[:1])
        await press(app, pilot, "b")  # a letter, and no burn
        assert page.recipe == was
        await press(app, pilot, "backspace", "backspace", "8", "enter")
        assert (page.typing, text_of(app, "news")) == (False, "")
        assert page.recipe.enlargement.aperture == 8


async def test_notes_that_cannot_be_written_are_not_lost(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from timer.app.archive import Archive
    from timer.errors import LamphouseError

    def full(*_: object) -> None:
        raise LamphouseError("the notebook cannot be written: no space left on device")

    with Notebook(home / "notebook.db") as book:
        book.begin_run(load_job(recipe_in(home)).plan)
    async with stage() as (app, pilot):
        await press(app, pilot, "n")
        await until(pilot, lambda: isinstance(app.screen, NotebookPage) and "p: print" in next_action(app))
        await press(app, pilot, "w", *"soft")
        with monkeypatch.context() as there:
            there.setattr(Archive, "write_notes", full)
            await press(app, pilot, "enter")
            assert "no space left" in text_of(app, "news")
        await press(app, pilot, "enter")
        assert app.darkroom.archive.notes(1) == "soft"
