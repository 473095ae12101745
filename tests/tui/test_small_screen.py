"""What an 80 x 24 screen has to show whole: a strip of many patches, what a sheet had, what is hard about a reading."""

from fractions import Fraction
from pathlib import Path

import pytest

from tests.tui.stage import next_action, press, recipe_in, screen_text, stage, text_of, until
from timer.app.jobs import load_job
from timer.app.strip_choice import StripChoice
from timer.craft.filters import Pack
from timer.documents.recipe import Filters
from timer.notebook.rows import new_row
from timer.plans.model import Plan
from timer.plans.split_grade import second_strip
from timer.plans.test_sheets import ring_plan
from tui.app import LamphouseApp
from tui.screens.look_back import LookBack
from tui.screens.notebook import NotebookPage
from tui.screens.unfinished import Unfinished


def given(app: LamphouseApp, plan: Plan, lit: int, why: str = "complete") -> int:
    """A sheet of ``plan`` in the notebook, of which the first ``lit`` exposures ended so."""
    run = app.darkroom.notebook.begin_run(plan)
    steps = [(n, step) for n, step in enumerate(plan.steps) if step.do == "expose"]
    for number, (n, step) in enumerate(steps[:lit]):
        micros = round(step.seconds * 1e6)
        app.darkroom.notebook.intend(new_row(run, number, n, step.area, step.seconds, micros))
        had = 0 if why == "not_lit" else micros
        app.darkroom.notebook.fact(run, number, had, had, why)
    return run


@pytest.mark.parametrize("count", [6, 7, 8, 9])
async def test_a_strip_of_many_patches_and_its_total(home: Path, count: int) -> None:
    choice = StripChoice(seconds=0.84, step=Fraction(1, 2), patches=count)
    async with stage(choice=choice) as (app, pilot):
        await until(pilot, lambda: "┌" in screen_text(app))
        rows = screen_text(app).splitlines()
        top = next(row for row in rows if "┌" in row)
        assert top.count("┬") == count - 1 and "┐" in top
        times = next(row for row in rows if "0.84" in row and row.count("│") > count)
        assert "1.2" in times and "1.7" in times
        assert any(f"{count} exposures" in row and "s of light" in row for row in rows)


async def test_all_of_an_unfinished_ring_is_shown(home: Path) -> None:
    plan = ring_plan(Pack(0, 60, 50), 10, 4.0, "cp")
    async with stage() as (app, pilot):
        given(app, plan, 2)
        await app.push_screen(Unfinished())
        await until(pilot, lambda: "had" in text_of(app, "list"))
        rows = [row for row in text_of(app, "list").splitlines() if "had" in row]
        assert [row.split()[1] for row in rows] == [*"1234567"]


async def test_of_more_than_have_room_it_is_said_how_many_there_are(home: Path) -> None:
    plan = ring_plan(Pack(0, 60, 50), 10, 4.0, "cp")
    async with stage((40, 15)) as (app, pilot):
        given(app, plan, 4)
        await app.push_screen(Unfinished())
        await until(pilot, lambda: "had" in text_of(app, "list"))
        shown = text_of(app, "list")
        rows = [row.split()[1] for row in shown.splitlines() if "had" in row]
        assert "5" in rows
        assert f"{int(rows[0]) - 1} before these" in shown
        assert rows[-1] == "7" or f"and {7 - int(rows[-1])} more" in shown


async def test_the_notebook_has_every_exposure_of_a_strip_over_another(home: Path) -> None:
    plan = second_strip(Filters(grade="00"), 6.0, Filters(grade="5"), 2.0, Fraction(1, 3), 5, "cover", paper="bw")
    async with stage() as (app, pilot):
        given(app, plan, 6)
        await app.push_screen(NotebookPage())
        await until(pilot, lambda: "┌" in text_of(app, "card"))
        shown = [row for row in text_of(app, "card").splitlines() if row.startswith("patch") and row.endswith(" s")]
        assert len(shown) == 6 and "…" not in text_of(app, "card")


async def test_what_was_never_lit_was_not_given(home: Path) -> None:
    async with stage() as (app, pilot):
        given(app, StripChoice().job().plan, 1, "not_lit")
        await app.push_screen(NotebookPage())
        await until(pilot, lambda: "not given" in text_of(app, "card"))
        assert "0.00" not in text_of(app, "card")


async def test_what_is_hard_about_a_reading_is_never_cut(home: Path) -> None:
    job = load_job(recipe_in(home))
    async with stage() as (app, pilot):
        await app.push_screen(LookBack(StripChoice(2.0, Fraction(1, 2), 5, made_for=job).job()))
        await until(pilot, lambda: "Enter" in next_action(app))
        await press(app, pilot, "a", *"window", "enter", "5", "a", *"wall", "enter", "1", "a", *"face", "enter", "3", "w")
        await pilot.pause(0.1)
        seen = " ".join(" ".join(screen_text(app).split()).split())
        for row in text_of(app, "hands").splitlines():
            assert " ".join(row.split()) in seen
        assert "window was right on the darkest patch: if it is still too light there, test higher" in seen


STRIP = StripChoice(seconds=2.0, step=Fraction(1, 3), patches=5)


async def test_at_40_columns_a_sheet_and_what_it_had_are_a_row_each(home: Path) -> None:
    async with stage((40, 15)) as (app, pilot):
        given(app, STRIP.job().plan, 2)
        app.push_screen(Unfinished())
        await until(pilot, lambda: isinstance(app.screen, Unfinished) and "had" in screen_text(app))
        await until(pilot, lambda: "give the missing light" in next_action(app))
        assert all(len(line) <= 40 for line in next_action(app).splitlines()) and "q back" in next_action(app)
        sheet, *had = [line for line in text_of(app, "list").splitlines() if line][:3]
        assert sheet.startswith(">    1 strip, 5 patches") and len(sheet) <= 40
        assert all("had 2.00 of 2.00 s" in line or "had 0.52 of 0.52 s" in line for line in had)  # 2 x (2^(1/3) - 1)
        assert all(len(line) <= 40 for line in had)


async def test_at_40_columns_what_is_written_goes_before_the_drawing(home: Path) -> None:
    async with stage((40, 15)) as (app, pilot):
        run = given(app, STRIP.job().plan, 5)
        app.darkroom.archive.write_notes(run, "the window a third darker")
        app.push_screen(NotebookPage())
        await until(pilot, lambda: isinstance(app.screen, NotebookPage) and "p again" in next_action(app))
        await until(pilot, lambda: "notes: the window a third darker" in screen_text(app))
