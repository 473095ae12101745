"""Bad recipes, bad processes, bad measurements and a damaged notebook: the screen opens, and names each with its sentence."""

import os
import random
from pathlib import Path

import pytest

from tests.conftest import write_recipe
from tests.fuzz.notebooks import good_book
from tests.fuzz.screen import faults_of_screen
from tests.tui.stage import next_action, screen_text, stage, text_of, until
from timer.notebook.store import Notebook
from timer.text import UNFIT
from tui.rooms import Room
from tui.screens.notebook import NotebookPage


async def test_every_bad_recipe_is_named_and_hides_no_other(home: Path, tmp_path: Path) -> None:
    folder = home / "recipes"
    write_recipe(folder / "good.toml", "Gate")
    write_recipe(folder / "zoo.toml", "Zoo")
    os.utime(folder / "good.toml", (1, 1))  # the oldest comes last
    (folder / "zeros.toml").write_text("x = 1" + "0" * 5000)
    (folder / "short.toml").write_text('recipe = 1\ntitle = "x"\nbase_s = 1e-9\n[paper]\nkind = "bw"\n')
    (folder / "escape.toml").write_text('recipe = 1\ntitle = "A\\u001b[?5hB"\nbase_s = 2\n[paper]\nkind = "bw"\n')
    os.mkfifo(folder / "pipe.toml")
    (folder / "device.toml").symlink_to("/dev/zero")
    (folder / "folder.toml").mkdir()
    (folder / "link.toml").symlink_to(tmp_path / "none.toml")
    (folder / "a\x1b[2J.toml").write_text("x = 1")
    async with stage(size=(100, 40)) as (app, pilot):
        found = app.darkroom.recipes()
        assert [job.plan.title for job in found.jobs] == ["Zoo", "Gate"]
        says = {each.path.name: each.says for each in found.broken}
        assert "too big" in says["zeros.toml"]
        assert "a pipe" in says["pipe.toml"]
        assert "a device" in says["device.toml"]
        assert "a folder" in says["folder.toml"]
        assert "no such file" in says["link.toml"]
        assert "control character" in says["escape.toml"]
        assert all(text.isprintable() for text in says.values())
        await pilot.press("up")
        await until(pilot, lambda: "not usable" in text_of(app, "choice"))
        assert f"{len(says)} recipes" in text_of(app, "choice")
        for text in says.values():
            assert text in text_of(app, "plan")
        for key in ("m", "b", "t", "i", "enter"):
            await pilot.press(key)
            await pilot.pause()
        assert "not usable" in text_of(app, "choice")
        assert "choose another" in next_action(app)
        await pilot.press("up")
        await until(pilot, lambda: "Gate" in text_of(app, "choice"))


async def test_of_any_other_folder_only_what_is_meant_as_a_recipe(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "any"
    folder.mkdir()
    (folder / "pyproject.toml").write_text('[project]\nname = "x"\n')
    (folder / "other.toml").write_text("recipes = 3\n")
    (folder / "broken.toml").write_text('recipe = 1\ntitle = "Shed"\nbase_s = "long"\n')
    (folder / "torn.toml").write_text("recipe = 1\n[pap")
    os.mkfifo(folder / "pipe.toml")
    write_recipe(folder / "good.toml", "Gate")
    write_recipe(home / "recipes" / "zoo.toml", "Zoo")
    (home / "recipes" / "mine.toml").write_text("x = 1\n")
    monkeypatch.chdir(folder)
    async with stage() as (app, _):
        found = app.darkroom.recipes()
        assert {job.plan.title for job in found.jobs} == {"Gate", "Zoo"}
        assert {each.path.name for each in found.broken} == {"broken.toml", "torn.toml", "mine.toml"}
        listed = {version.path.name for negative in app.darkroom.book.negatives() for version in negative.versions}
        assert listed == {"good.toml", "zoo.toml", "broken.toml", "torn.toml", "mine.toml"}


async def test_bad_measurements_and_processes(home: Path) -> None:
    write_recipe(home / "recipes" / "good.toml", "Gate")
    (home / "corrections.toml").write_text("x = 1")
    (home / "processes").mkdir()
    (home / "processes" / "mine.toml").write_text("x = 1")
    async with stage(size=(100, 30)) as (app, pilot):
        await pilot.press("down", "m")
        await until(pilot, lambda: "corrections.toml: x: unknown key" in text_of(app, "list"))
        await pilot.press("q", "z")
        await until(pilot, lambda: "mine.toml: x: unknown key" in text_of(app, "list"))
        assert "new: " in text_of(app, "list")
        assert len(app.screen.names) > 1  # type: ignore[attr-defined]


@pytest.mark.parametrize("room", ["white", "bw", "ra4"])
async def test_no_cell_acts_in_any_room_light(home: Path, room: str) -> None:
    good_book(home / "notebook.db")
    with Notebook(home / "notebook.db") as book, book.commit():
        book.write("UPDATE run SET title = ?, covered = begun", ("A\x1b[?5hB\x9b1m\u202eC\nD\tE\x07",))
        book.write("UPDATE sheet SET notes = ?", ("A\x1b]11;#fff\x07B",))
    async with stage(size=(100, 30)) as (app, pilot):
        await pilot.press("n")
        await until(pilot, lambda: isinstance(app.screen, NotebookPage) and "[?5hB" in text_of(app, "list"))
        await pilot.pause(0.2)  # drawn again for the size that it has
        # Past what the notebook cleans: a page that is handed such a text shows its letters alone.
        app.screen.query_one("#next").update("X\x1b[2JY\x9bZ\u202e!\udcff")  # type: ignore[attr-defined]
        if room != "white":
            assert app.open_box(room)
        await pilot.pause()
        shown = screen_text(app)
        assert not UNFIT.search(shown.replace("\n", ""))
        if room == "ra4":
            assert app.room is Room.NONE
            assert shown.strip() == ""
        else:
            assert "X[2JYZ!" in shown
            assert "[?5hB" in shown


def test_pages_of_damaged_notebooks(home: Path) -> None:
    from tests.fuzz import files
    from tests.fuzz.notebooks import damage

    for seed in range(4):
        chance = random.Random(f"page-{seed}")
        book = home / "notebook.db"
        for suffix in ("", "-wal", "-shm"):
            Path(f"{book}{suffix}").unlink(missing_ok=True)
        good_book(book)
        damage(book, chance)
        (home / "recipes").mkdir(exist_ok=True)
        (home / "recipes" / f"r{seed}.toml").write_text(files.damaged(files.FULL, chance), errors="surrogateescape")
        assert faults_of_screen() == []
