"""The first page: a strip's time typed, a print's template written."""

from pathlib import Path

import pytest

from tests.tui.stage import next_action, press, recipe_in, stage, text_of, until
from timer.app.jobs import load_job, questions
from timer.app.strip_choice import StripChoice
from tui.screens.edit_recipe import EditRecipe
from tui.screens.expose import Expose
from tui.screens.look_back import LookBack
from tui.screens.prepare import Prepare


async def test_a_strips_first_time_is_typed(home: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, *"3.5")
        assert "3.5_" in next_action(app)
        await press(app, pilot, "enter")
        assert app.choice.seconds == 3.5 and "from 3.5 s" in text_of(app, "choice")
        assert not isinstance(app.screen, Expose)  # Enter was the line's
        for wrong in ("500", "1..2"):
            await press(app, pilot, *wrong, "enter")
            assert app.choice.seconds == 3.5
            assert wrong in text_of(app, "news")
            await press(app, pilot, "escape")
        await press(app, pilot, "7", "escape")
        assert app.choice.seconds == 3.5


@pytest.mark.parametrize("sheet", ["18x24cm", ""])
async def test_a_prints_template_is_written_and_said_where(home: Path, sheet: str) -> None:
    path = recipe_in(home)
    if sheet:
        path.write_text(path.read_text().replace("[[dodge]]", f'[enlargement]\nsheet = "{sheet}"\n[[dodge]]', 1))
    async with stage((80, 30)) as (app, pilot):
        await press(app, pilot, "down", "p")
        if not sheet:
            assert "n in the row sheet" in app.said.trouble
            assert list(path.parent.glob("*.pdf")) == []
            return
        await until(pilot, lambda: "gate-template.pdf" in text_of(app, "advice"))
        assert (path.parent / "gate-template.pdf").read_bytes().startswith(b"%PDF")
        await press(app, pilot, "p")
        await until(pilot, lambda: "gate-template-2.pdf" in text_of(app, "advice"))


async def test_two_of_one_title_are_told_apart_by_their_files(home: Path) -> None:
    path = recipe_in(home)
    (path.parent / "gate-wide.toml").write_text(path.read_text())
    async with stage() as (app, pilot):
        await press(app, pilot, "down")
        rows = text_of(app, "list").splitlines()
        assert sorted(row.split("(")[1] for row in rows if "(" in row) == ["gate)", "gate-wide)"]
        assert "Gate in the rain (gate" in text_of(app, "choice") or "… (gate" in text_of(app, "choice")


async def test_after_undo_of_a_new_recipe_the_cursor_is_where_it_was(home: Path) -> None:
    path = recipe_in(home)
    (path.parent / "quay.toml").write_text(path.read_text().replace("Gate in the rain", "quay"))
    async with stage() as (app, pilot):
        while "print: quay" not in text_of(app, "choice"):
            await press(app, pilot, "down")
        await press(app, pilot, "e")
        await until(pilot, lambda: isinstance(app.screen, EditRecipe) and next_action(app) != "")
        await press(app, pilot, "w", "right", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare) and "quay, 2" in text_of(app, "choice"))
        await press(app, pilot, "u")
        await until(pilot, lambda: "is gone again" in app.said.news)
        assert text_of(app, "choice").startswith("print: quay\n")


async def test_a_strips_list_and_its_reading_say_how_the_enlarger_stands(home: Path) -> None:
    path = recipe_in(home)
    place = '[enlargement]\nsheet = "18x18cm"\naperture = 8\n[filters]\ngrade = "2"\n[[dodge]]'
    path.write_text(path.read_text().replace("[[dodge]]", place, 1))
    strip = StripChoice(made_for=load_job(path)).job()
    assert questions(strip) == ["lens stopped down to f/8", "grade 2 in", "easel 18x18cm, blades set"]
    async with stage() as (app, pilot):
        await app.push_screen(LookBack(strip))
        await until(pilot, lambda: "Enter" in next_action(app))
        assert "made for: Gate in the rain, 18x18cm, f/8, grade 2, 2.00 s" in text_of(app, "choice")
        path.unlink()
        await press(app, pilot, "a", *"wall", "enter")
        assert "gate.toml" not in next_action(app) and "as a recipe of its own" in next_action(app)
