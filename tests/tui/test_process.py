from pathlib import Path

import pytest

from tests.tui.stage import next_action, press, screen_text, stage, text_of, to_easel, until
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
