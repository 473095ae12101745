"""What the hands do now and next, how long until then, and the baths at the foot of every page."""

import re
import time
from pathlib import Path

import pytest

from tests.tools.witness import Witness
from tests.tui.stage import press, recipe_in, stage, text_of, to_easel, to_light, until
from tests.tui.test_room_light import check
from timer.app import baths as clocks
from timer.craft.processing import Bath
from timer.plans.recipe_rows import PAPER_KINDS
from tui.expose_words import seconds_to_change
from tui.page import Page
from tui.screens.baths import Baths
from tui.screens.expose import Expose
from tui.screens.help import Help
from tui.screens.notebook import NotebookPage


async def test_the_digits_count_to_the_next_change_of_hands(home: Path, witness: Witness) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        await pilot.press("down")
        await to_easel(app, pilot)
        await to_light(app, pilot)
        await until(pilot, lambda: text_of(app, "hands").startswith("NOW   base: hold back gate"))
        page = app.screen
        assert isinstance(page, Expose)
        # Of 2 s a third of a stop is held back: 2 s x (1 - 2^(-1/3)) = 0.413 s.
        assert seconds_to_change(page._run, page._given()) <= 0.42
        assert text_of(app, "then") == "NEXT  all clear"
        assert re.fullmatch(r"\d\.\d of 2\.0 s", text_of(app, "rest"))
        await until(pilot, lambda: text_of(app, "hands") == "NOW   base: all clear")
        assert seconds_to_change(page._run, page._given()) > 0.5
        assert text_of(app, "then").startswith("NEXT  burn sky")


@pytest.mark.parametrize("page", [Help, NotebookPage])
async def test_each_running_bath_stands_at_the_foot_of_every_page(page: type[Page]) -> None:
    bath = (Bath("developer", 60), Bath("stop", 30))
    async with stage() as (app, pilot):
        assert not app.screen.query_one("#clocks").display
        now = time.monotonic()
        made = clocks.start("RA-4", "drum", "inside", bath, now, hands_free=False)
        app.clocks.all += [clocks.answer(made, now), made]
        await app.push_screen(page())
        await until(pilot, lambda: "developer, drain in 0:4" in text_of(app, "clocks"))
        assert text_of(app, "clocks").endswith("developer WAITS for the pour")
        await app.push_screen(Baths())
        await pilot.pause(0.6)
        assert not app.screen.query_one("#clocks").display  # that page has them large
        app.clocks.all.clear()
        await press(app, pilot, "q")
        await until(pilot, lambda: not app.screen.query_one("#clocks").display)


@pytest.mark.parametrize("kind", PAPER_KINDS)
async def test_the_baths_at_the_foot_bear_the_room_light(kind: str) -> None:
    async with stage() as (app, pilot):
        now = time.monotonic()
        made = clocks.start("RA-4", "drum", "inside", (Bath("developer", 60),), now, hands_free=False)
        app.clocks.all.append(clocks.answer(made, now))
        assert app.open_box(kind)
        await app.push_screen(Help())
        await until(pilot, lambda: "developer, drain in" in text_of(app, "clocks"))
        check(app, "a bath at the foot")
