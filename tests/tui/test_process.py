from dataclasses import replace
from pathlib import Path

import pytest

from tests.tui.stage import next_action, press, screen_text, stage, text_of, to_easel, until
from timer.app import baths
from tui.rooms import Room
from tui.screens.baths import Baths
from tui.screens.expose import Expose
from tui.screens.notebook import NotebookPage
from tui.screens.prepare import Prepare

QUICK = 'process = 1\ntitle = "Quick"\nsource = "a test"\nvessel = "drum"\ndrain = "inside"\n' + "".join(
    f'[[bath]]\nname = "{name}"\nseconds = 1\ndrain_s = 0.3\nlight = {light}\n'
    for name, light in (("developer", "false"), ("bleach-fix", "true"), ("wash", "true"))
)


async def test_clocks_run_nag_and_are_heard_on_other_pages(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (home / "processes").mkdir()
    (home / "processes" / "aa.toml").write_text(QUICK)
    async with stage() as (app, pilot):
        heard: list[str] = []
        monkeypatch.setattr(app.sound, "cue", heard.append)
        await press(app, pilot, "z")
        await until(pilot, lambda: isinstance(app.screen, Baths) and "new:" in text_of(app, "list"))
        assert isinstance(app.screen, Baths)
        await pilot.press(*["right"] * app.screen.names.index("aa"))
        await press(app, pilot, "a", "a")
        await until(pilot, lambda: len(app.clocks.all) == 2)
        await press(app, pilot, "enter")
        await until(pilot, lambda: app.clocks.all[1].poured is not None)
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await until(pilot, lambda: "end" in heard)  # called on another page
        await press(app, pilot, "z")
        await until(pilot, lambda: "WAITS" in text_of(app, "list"))
        await press(app, pilot, "x", "x")
        assert app.clocks.all == []


async def test_no_clock_changes_the_room_light(home: Path) -> None:
    (home / "processes").mkdir()
    (home / "processes" / "aa.toml").write_text(QUICK)
    async with stage() as (app, pilot):
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        await press(app, pilot, "q")
        await until(pilot, lambda: "covered" in next_action(app))
        await press(app, pilot, "z")
        await until(pilot, lambda: isinstance(app.screen, Baths) and "new:" in text_of(app, "list"))
        assert isinstance(app.screen, Baths)
        await pilot.press(*["right"] * app.screen.names.index("aa"))
        await press(app, pilot, "h", "enter")
        await until(pilot, lambda: "white light allowed" in text_of(app, "list"))
        assert "once all other paper is covered" in text_of(app, "list")
        assert app.room is Room.RED
        await press(app, pilot, "c")
        await until(pilot, lambda: app.room is Room.WHITE)
        await until(pilot, lambda: "no paper is out" in text_of(app, "list"))


async def test_the_notebook_page_rates_compares_and_prints_again(home: Path) -> None:
    from timer.documents.recipe_file import parse_recipe
    from timer.notebook.store import Notebook
    from timer.plans.print import print_plan

    example = (Path(__file__).parents[2] / "timer" / "documents" / "example.toml").read_text()
    notebook = Notebook(home / "notebook.db")
    for text in (example, example.replace("base_s = 16.0", "base_s = 20.0")):
        run = notebook.begin_run(print_plan(parse_recipe(text)), recipe=text)
        notebook.end_run(run, "finished", "finished")
    notebook.close()
    async with stage() as (app, pilot):
        await press(app, pilot, "n")
        await until(pilot, lambda: isinstance(app.screen, NotebookPage))
        await press(app, pilot, "4")
        await until(pilot, lambda: "****" in screen_text(app))
        await press(app, pilot, "equals_sign", "down")
        await until(pilot, lambda: "base: 20 s -> 16 s" in screen_text(app))
        await press(app, pilot, "slash", *"zebra")
        await until(pilot, lambda: "look for: zebra" in next_action(app) and "Coat" not in text_of(app, "list"))
        await press(app, pilot, *["backspace"] * 5, *"coat", "enter")
        await until(pilot, lambda: "found by: coat" in next_action(app) and "Coat by the stairs" in text_of(app, "list"))
        await press(app, pilot, "p")  # its plan first
        await until(pilot, lambda: "as it was" in text_of(app, "choice"))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Expose))


TABLE = QUICK.replace("seconds = 1\ndrain_s = 0.3\nlight = false", "table = [[20, 120], [24, 60]]\ndrain_s = 0.3")


async def test_a_temperature_is_typed_and_times_follow_where_there_is_a_table(home: Path) -> None:
    (home / "processes").mkdir()
    (home / "processes" / "aa.toml").write_text(TABLE)
    (home / "processes" / "ab.toml").write_text(QUICK)
    async with stage() as (app, pilot):
        await press(app, pilot, "z")
        await until(pilot, lambda: isinstance(app.screen, Baths) and "new:" in text_of(app, "list"))
        assert isinstance(app.screen, Baths)
        await pilot.press(*["right"] * app.screen.names.index("aa"))
        await press(app, pilot, "t", *"24", "enter")
        assert "at 24 °C, by its table: developer 1:00" in text_of(app, "list")
        await press(app, pilot, "a")
        assert app.clocks.all[0].baths[0].seconds == 60
        await press(app, pilot, "t", *"30", "enter")
        assert "outside of the table, which has 20 to 24" in text_of(app, "list")
        await press(app, pilot, "a")
        assert len(app.clocks.all) == 1
        await press(app, pilot, "right")
        assert "they stay as they are" in text_of(app, "list")
        await press(app, pilot, "t", "enter")
        assert "°C" not in text_of(app, "list")


async def test_large_is_the_time_to_the_next_act_and_the_clocks_have_their_numbers(home: Path) -> None:
    (home / "processes").mkdir()
    (home / "processes" / "aa.toml").write_text(QUICK.replace("seconds = 1\n", "seconds = 90\n").replace("0.3", "15"))
    async with stage() as (app, pilot):
        await press(app, pilot, "z")
        await until(pilot, lambda: isinstance(app.screen, Baths) and "new:" in text_of(app, "list"))
        assert isinstance(app.screen, Baths)
        await pilot.press(*["right"] * app.screen.names.index("aa"))
        await press(app, pilot, "a", "enter", "a", "enter")
        await until(pilot, lambda: "drain next; it ends in 1:" in text_of(app, "area"))
        clock = app.clocks.all[0]
        assert clock.poured is not None
        now = clock.poured + 3  # 90 s, of which the last 15 are the drain: 72 s to it, 87 to the end
        assert baths.to_act(clock, now) == 72 and baths.left(clock, now) == 87
        line = app.clocks.standing(now, 80)
        assert line.startswith("1 Quick: developer, drain in 1:12   2 Quick: developer, ")
        assert len(app.clocks.standing(now, 64)) <= 64
        app.clocks.all = [replace(each, title="RA-4 in a drum") for each in app.clocks.all]
        assert app.clocks.standing(now, 70).startswith("1 RA-4: developer, ")
