"""What is wrong, and what is new: until when it is shown, and where."""

from pathlib import Path

import pytest

from tests.conftest import write_recipe
from tests.tui.stage import next_action, press, recipe_in, screen_text, stage, text_of, until
from timer.app.between import KeeperLost
from timer.errors import KeeperError, LamphouseError
from timer.notebook import paper_out
from tui.app import FromKeeper
from tui.screens.edit_recipe import EditRecipe
from tui.screens.help import Help
from tui.screens.negatives import Negatives
from tui.screens.prepare import Prepare


async def test_a_refusal_goes_with_the_next_key_that_does_something(home: Path) -> None:
    write_recipe(home / "recipes" / "gate.toml", "Gate")
    (home / "recipes" / "torn.toml").write_text("recipe = 1\n[pap")
    async with stage() as (app, pilot):
        await press(app, pilot, "slash")
        await until(pilot, lambda: isinstance(app.screen, Negatives) and "Gate" in text_of(app, "list"))
        at = next(n for n, row in enumerate(app.screen.rows) if row.versions[0].path.name == "torn.toml")  # type: ignore[attr-defined]
        await press(app, pilot, *["down"] * at, "enter")
        assert text_of(app, "alarm") == "!! this recipe cannot be used: its file has to be corrected first"
        await press(app, pilot, "g")  # a key of nothing
        assert app.said.trouble
        await press(app, pilot, "up" if at else "down")
        assert text_of(app, "alarm") == ""
        await press(app, pilot, "down" if at else "up", "enter")
        assert app.said.trouble
        await press(app, pilot, "question_mark")  # and with another page
        await until(pilot, lambda: isinstance(app.screen, Help))
        assert not app.said.trouble


async def test_the_same_refusal_again_is_said_again(home: Path) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        await press(app, pilot, "down")
        assert app.open_box("bw")
        await press(app, pilot, "e", "e")
        assert "cover it first" in text_of(app, "alarm")


async def test_what_was_taken_back_is_no_alarm_and_goes_too(home: Path) -> None:
    path = recipe_in(home)
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "e")
        await until(pilot, lambda: isinstance(app.screen, EditRecipe) and next_action(app) != "")
        await press(app, pilot, "9", "enter", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await press(app, pilot, "u")
        await until(pilot, lambda: path.name in text_of(app, "news"))
        assert not app.said.trouble
        assert "!!" not in screen_text(app)
        await press(app, pilot, "up")
        assert not app.screen.query_one("#news").display


async def test_trouble_with_the_lamp_stays_till_its_keeper_is_back() -> None:
    async with stage() as (app, pilot):
        await until(pilot, lambda: app.darkroom.keeper_runs)
        app.darkroom.keeper = lambda: (_ for _ in ()).throw(KeeperError("no lamp here"))  # type: ignore[method-assign]
        app.darkroom._forget_keeper()
        app.on_from_keeper(FromKeeper(KeeperLost("the keeper is silent")))
        await until(pilot, lambda: app.said.trouble == "no lamp here")  # it could not be begun again either
        await press(app, pilot, "k", "s", "question_mark", "q")
        await pilot.pause(0.6)
        assert text_of(app, "alarm") == "!! no lamp here"
        del app.darkroom.keeper
        app.run_worker(app.warm, thread=True)
        await until(pilot, lambda: app.darkroom.keeper_runs and "lamp" not in app.said._lasting)
        assert app.said.trouble  # seen till a key
        await press(app, pilot, "s")
        assert not app.said.trouble


async def test_paper_that_could_not_be_noted_is_trouble_until_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise LamphouseError("the notebook cannot be written: no space left on device")

    async with stage() as (app, pilot):
        assert app.open_box("bw")
        with monkeypatch.context() as there:
            there.setattr(paper_out, "cover", full)
            await press(app, pilot, "c")
            assert "no space left" in app.said.trouble
            await press(app, pilot, "k", "s", "question_mark", "q")
            assert "no space left" in text_of(app, "alarm")
        assert app.open_box("bw")
        await press(app, pilot, "s")
        assert not app.said.trouble
