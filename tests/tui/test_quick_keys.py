"""Keys in quick succession: those that choose or open act at once, those that write or leave once, all in their order."""

import time
from pathlib import Path

import pytest
from textual.events import Key
from textual.pilot import Pilot

from tests.run.test_presses import held
from tests.tui.stage import next_action, press, recipe_in, stage, until
from timer.plans.recipe_rows import rows
from tui.app import LamphouseApp
from tui.screens.edit_recipe import EditRecipe
from tui.screens.negatives import Negatives
from tui.screens.notebook import NotebookPage
from tui.screens.prepare import Prepare


async def came(app: LamphouseApp, pilot: Pilot[int], *keys: tuple[str, float]) -> None:
    """Keys that were read at those seconds from now, whatever this machine is busy with."""
    begin = time.monotonic()
    for key, at in keys:
        while time.monotonic() < begin + at:
            await pilot.pause(0.005)
        event = Key(key, None)
        event.time = begin + at
        app.screen.post_message(event)
        await pilot.pause(0)
    await until(pilot, lambda: app.keys.settled)


async def recipe_page(app: LamphouseApp, pilot: Pilot[int]) -> EditRecipe:
    """The recipe page of the first print."""
    await press(app, pilot, "down", "e")
    await until(pilot, lambda: isinstance(app.screen, EditRecipe) and next_action(app) != "")
    page = app.screen
    assert isinstance(page, EditRecipe)
    return page


async def test_find_is_opened_by_two_quick_presses_and_the_word_is_typed(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        await came(app, pilot, ("slash", 0.0))
        await until(pilot, lambda: isinstance(app.screen, Negatives) and next_action(app) != "")
        await came(app, pilot, ("slash", 0.25), *((key, 0.4 + n / 8) for n, key in enumerate("quay")))
        page = app.screen
        assert isinstance(page, Negatives)
        assert page.words == "quay"


async def test_nine_presses_in_three_seconds_are_nine() -> None:
    async with stage() as (app, pilot):
        was, one = app.choice, app.choice
        for _ in range(9):
            one = one.next_count()
        await came(app, pilot, *(("p", n / 3) for n in range(9)))
        assert app.choice == one != was


@pytest.mark.parametrize("key", ["x", "u"])
async def test_a_held_key_that_takes_away_or_back_does_it_once(home: Path, key: str) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await recipe_page(app, pilot)
        await press(app, pilot, "right", "right", "down")
        app.keys.forget()
        before = page.recipe
        await came(app, pilot, *((key, at) for at in held(0.0, 3.0)))
        if key == "x":
            assert [d.area for d in page.recipe.dodge] == [] and page.recipe.burn == before.burn
        else:
            assert page.opened.base_s < page.recipe.base_s < before.base_s


async def test_a_key_that_waits_counts_before_the_next_one(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await recipe_page(app, pilot)
        await press(app, pilot, "h", *"wall", "enter", "h", *"door", "enter")
        app.keys.forget()
        page.at = [row.name for row in rows(page.recipe)].index("wall")
        await came(app, pilot, ("x", 0.0), ("x", 0.6), ("up", 0.65), ("up", 0.7))
        assert [d.area for d in page.recipe.dodge] == ["gate"]
        assert len(page.recipe.burn) == 1


async def test_a_line_is_ended_at_once_and_what_follows_is_no_part_of_it(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await recipe_page(app, pilot)
        app.keys.forget()
        keys = [*"9", "enter", "down", *"-1/2", "enter", "h", *"wall", "enter"]
        await came(app, pilot, *((_named(key), 0.1 * n) for n, key in enumerate(keys)))
        assert page.recipe.base_s == 9.0
        assert [d.area for d in page.recipe.dodge] == ["gate", "wall"]


async def test_the_held_key_that_opened_a_line_is_not_typed_into_it(home: Path) -> None:
    async with stage() as (app, pilot):
        app.keys.forget()
        begin, *rest = held(0.0, 2.0)
        await came(app, pilot, ("e", begin))
        await until(pilot, lambda: isinstance(app.screen, EditRecipe) and app.screen.typing)
        page = app.screen
        assert isinstance(page, EditRecipe) and page.entry
        await came(app, pilot, *(("e", at) for at in rest))
        assert page.entry.text == "e"  # which may have been a press
        await came(app, pilot, *((key, 3 + n / 50) for n, key in enumerate("lleee")))
        assert page.entry.text == "elleee"


async def test_a_held_key_leaves_one_page_and_not_the_next() -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "n")
        await until(pilot, lambda: isinstance(app.screen, NotebookPage))
        app.keys.forget()
        first, *rest = held(0.0, 2.0)
        await came(app, pilot, ("q", first))
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await came(app, pilot, *(("q", at) for at in rest))
        assert app.return_code is None


def _named(key: str) -> str:
    return {"-": "minus", "/": "slash"}.get(key, key)
