"""A sheet of the notebook made again, its plan first; its notes typed; the final print marked."""

from pathlib import Path

from textual.pilot import Pilot

from tests.tui.stage import next_action, press, recipe_in, stage, text_of, until
from timer.app.jobs import load_job
from timer.notebook import sheets
from timer.notebook.store import Notebook
from tui.app import LamphouseApp
from tui.screens.expose import Expose
from tui.screens.notebook import NotebookPage
from tui.screens.reprint import Reprint


def printed(home: Path) -> int:
    """A print of the gate in the notebook, on 8x10in at f/8; its run's number."""
    path = recipe_in(home)
    place = '[enlargement]\nframe = "24x36mm"\nsheet = "8x10in"\naperture = 8\n[[dodge]]'
    path.write_text(path.read_text().replace("base_s = 2.0", "base_s = 10.0").replace("[[dodge]]", place, 1))
    with Notebook(home / "notebook.db") as book:
        run = book.begin_run(load_job(path).plan, recipe=path.read_text())
        book.end_run(run, "finished", "done")
    return run


async def in_notebook(app: LamphouseApp, pilot: Pilot[int]) -> None:
    await press(app, pilot, "n")
    await until(pilot, lambda: isinstance(app.screen, NotebookPage) and "Gate" in text_of(app, "list"))


async def to_reprint(app: LamphouseApp, pilot: Pilot[int]) -> None:
    await in_notebook(app, pilot)
    await press(app, pilot, "p")
    await until(pilot, lambda: isinstance(app.screen, Reprint) and "get ready" in next_action(app))


async def test_its_plan_is_shown_before_any_light(home: Path) -> None:
    run = printed(home)
    async with stage() as (app, pilot):
        await to_reprint(app, pilot)
        assert f"sheet {run}: Gate in the rain" in text_of(app, "choice")
        assert "10.00 s  base" in text_of(app, "plan")
        assert "hold back gate" in text_of(app, "plan")
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Expose))
        assert isinstance(app.screen, Expose)
        assert app.screen.job.text == (home / "recipes" / "gate.toml").read_text()


async def test_a_size_that_is_not_in_the_list_is_typed(home: Path) -> None:
    printed(home)
    async with stage() as (app, pilot):
        await to_reprint(app, pilot)
        await press(app, pilot, "n", *"9.5x12in", "enter")
        await until(pilot, lambda: "< 9.5x12in >" in text_of(app, "choice"))
        factor = ((12 * 25.4 / 36 + 1) / (254 / 36 + 1)) ** 2
        await until(pilot, lambda: f"{10 * factor:.1f}" in text_of(app, "plan"))
        await press(app, pilot, "n", *"large", "enter")
        assert "'large' is not" in text_of(app, "news") and "9.5x12in" in text_of(app, "choice")


async def test_at_another_size_the_whole_plan_follows(home: Path) -> None:
    printed(home)
    async with stage() as (app, pilot):
        await to_reprint(app, pilot)
        await press(app, pilot, *["right"] * 5)
        await until(pilot, lambda: "12x16in" in text_of(app, "choice"))
        # (m + 1)^2, the whole of 36 mm on 10 in, and on 16 in
        factor = ((406.4 / 36 + 1) / (254 / 36 + 1)) ** 2
        await until(pilot, lambda: f"{10 * factor:.1f}" in text_of(app, "plan"))
        page = app.screen
        assert isinstance(page, Reprint) and page.job.recipe and page.job.path is None
        assert page.job.recipe.enlargement.sheet == "12x16in"
        assert page.job.recipe.derived is not None
        await press(app, pilot, *["left"] * 5)
        await until(pilot, lambda: "as it was" in text_of(app, "choice"))
        assert page.job is page.as_it_was
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, NotebookPage))


async def test_a_size_that_cannot_be_reckoned_is_said_and_not_exposed(home: Path) -> None:
    path = recipe_in(home)
    with Notebook(home / "notebook.db") as book:
        book.begin_run(load_job(path).plan, recipe=path.read_text())
    async with stage() as (app, pilot):
        await to_reprint(app, pilot)
        await press(app, pilot, "right")
        await until(pilot, lambda: "cannot be made" in next_action(app))
        await press(app, pilot, "enter")
        assert isinstance(app.screen, Reprint)
        assert app.said.trouble


async def test_with_paper_out_nothing_is_exposed_anew(home: Path) -> None:
    printed(home)
    async with stage() as (app, pilot):
        await to_reprint(app, pilot)
        assert isinstance(app.screen, Reprint)
        assert app.open_box(app.screen.job.plan.paper)
        await press(app, pilot, "enter")
        assert isinstance(app.screen, Reprint)
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, NotebookPage))
        await press(app, pilot, "w")
        assert not app.screen.typing


async def test_notes_are_typed_and_the_final_print_marked(home: Path) -> None:
    run = printed(home)
    async with stage() as (app, pilot):
        await in_notebook(app, pilot)
        await press(app, pilot, "w", *"good,_but_q_is_typed", "enter")
        await until(pilot, lambda: "notes: good, but q is typed" in text_of(app, "card"))
        await press(app, pilot, "w", *"_x", "backspace", *"!", "escape")
        assert "typed\n" in text_of(app, "card") + "\n"
        await press(app, pilot, "k")
        await until(pilot, lambda: f"notes: {sheets.FINAL}; good" in text_of(app, "card"))
        assert [row.run for row in sheets.search(app.darkroom.notebook, "final print")] == [run]
        await press(app, pilot, "k")
        await until(pilot, lambda: "notes: good" in text_of(app, "card"))
        await press(app, pilot, "w", *["backspace"] * 30, "enter", "k", "k")
        assert app.darkroom.archive.notes(run) == ""
