"""Solving on the screen: a first sheet from its plan to the right print, looks by eye, picks that are kept as looks."""

import random
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from textual.pilot import Pilot

from tests.cli.test_solve import cgats
from tests.conftest import Run
from tests.tools.dark_paper import Darkroom
from tests.tools.witness import Witness
from tests.tui.stage import next_action, press, screen_text, stage, text_of, to_light, until
from timer.app.jobs import Job, load_job
from timer.app.picks import picks_of
from timer.app.reading import kept_for
from timer.craft.filters import Pack, parse_pack
from timer.documents.reading import Reading
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import load_recipe
from timer.documents.recipe_light import setting_of
from timer.notebook.readings import take_readings
from timer.notebook.rows import ExposureRow
from timer.plans.test_sheets import ring_plan
from tui.app import LamphouseApp
from tui.screens.correct import Correct
from tui.screens.expose import Expose
from tui.screens.look_back import LookBack
from tui.screens.notebook import NotebookPage
from tui.screens.prepare import Prepare
from tui.screens.solve import Solve
from tui.screens.test_sheet import FIRST, TestSheet

AIM = 0.74
QUAY = """recipe = 1
title = "Quay"
base_s = {base}
[paper]
kind = "ra4"
[filters]
m = 60
y = 50
head = "dichroic"
"""


def quay(home: Path, base: float = 10.0, more: str = "") -> Path:
    path = home / "recipes" / "quay.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(QUAY.format(base=base) + more)
    return path


def printed(app: LamphouseApp, job: Job) -> int:
    """``job`` in the notebook, all its light given, as planned; its sheet."""
    notebook = app.darkroom.notebook
    run = notebook.begin_run(job.plan, recipe=job.text if job.recipe else "", made_for=kept_for(job))
    lit = [(n, step) for n, step in enumerate(job.plan.steps) if step.do == "expose"]
    for number, (n, step) in enumerate(lit):
        us = round(step.seconds * 1e6)
        notebook.intend(ExposureRow(run, number, n, step.say, step.seconds, us, bytes(16), True, 0, None, None, None))
        notebook.fact(run, number, us, us, "complete")
    notebook.end_run(run, "finished", "finished")
    return run


def ring(path: Path) -> Job:
    job = load_job(path)
    assert job.recipe
    plan = ring_plan(setting_of(job.recipe.filters), 10, job.recipe.base_s, "dichroic")
    return Job(plan, made_for=job, picks=picks_of(plan, head="dichroic"))


def read(app: LamphouseApp, run: int) -> dict[str, tuple[float | None, float | None, float | None]]:
    return {each.sample: (each.red, each.green, each.blue) for each in app.darkroom.archive.readings(run)}


async def solving(app: LamphouseApp, pilot: Pilot[int], job: Job, run: int) -> Solve:
    await app.push_screen(Solve(job, run))
    await until(pilot, lambda: isinstance(app.screen, Solve) and "Enter" in next_action(app))
    page = app.screen
    assert isinstance(page, Solve)
    return page


def _on(page: Expose, stage: str) -> bool:
    return page.stage == stage


async def given(app: LamphouseApp, pilot: Pilot[int], witness: Witness) -> list[tuple[float, tuple[float, float, float]]]:
    """From the questions through all light of a sheet to its cover, packs dialled with the sheet in its box; what the lamp
    gave, as the witness saw it, through what was in."""
    before = len(witness.exposures_ns())
    await until(pilot, lambda: isinstance(app.screen, Expose) and "Enter: yes" in next_action(app))
    page = app.screen
    assert isinstance(page, Expose)
    for _ in range(3):
        await press(app, pilot, "enter")
    await until(pilot, lambda: "screen goes" in next_action(app))
    await press(app, pilot, "enter")
    steps = page.job.plan.steps
    lit = [(n, step) for n, step in enumerate(steps) if step.do == "expose"]
    for number, (_, step) in enumerate(lit, 1):
        if page.stage == "cover":
            page._dark_since -= 2.0
            await press(app, pilot, "c")
            await until(pilot, partial(_on, page, "look"))
            assert not app.paper_out and step.filters in text_of(app, "hands")
            await press(app, pilot, "enter")
            await until(pilot, partial(_on, page, "back"))
        await to_light(app, pilot, number=f"{number}/{len(lit)}")
        witness.wait(False, 20, more_than=2 * (before + number) - 1)
        await until(pilot, partial(_past, page, number, len(lit)))
    await until(pilot, lambda: "covered" in next_action(app))
    await press(app, pilot, "c")
    seen = [ns / 1e9 for ns in witness.exposures_ns()[before:]]
    return [(s, _controls(step.filters)) for s, (_, step) in zip(seen, lit, strict=True)]


def _past(page: Expose, number: int, count: int) -> bool:
    return page.over or page.stage == "cover" or page._run.number == number


def _controls(filters: str) -> tuple[float, float, float]:
    pack = parse_pack(filters)
    return pack.c / 100, pack.m / 100, pack.y / 100


async def test_from_a_first_sheet_to_a_right_print(home: Path, witness: Witness, lamphouse: Run, tmp_path: Path) -> None:
    """Keys and light alone; the densities come of the light that the lamp's wire had, in a darkroom unknown to the solver."""
    path = quay(home, base=1.0)

    def seen(shown: list[tuple[float, tuple[float, float, float]]], names: list[str]) -> str:
        read = room.sheet([(10 * s, u) for s, u in shown])  # ten times as light a negative: no test waits for 10 s
        return cgats(tmp_path / "read.txt", dict(zip(names, read, strict=True)))

    room = next(r for r in (Darkroom(random.Random(n)) for n in range(100)) if 0.9 < r.still(_first()).mean() < 1.2)
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "t", "up")
        await until(pilot, lambda: isinstance(app.screen, TestSheet) and FIRST in text_of(app, "choice"))
        await press(app, pilot, "enter")
        shown = await given(app, pilot, witness)
        assert [round(s, 2) for s, _ in shown] == pytest.approx([1, 0.71, 1.41, 1, 1], abs=0.02)
        assert [u for _, u in shown[3:]] == [(0, 0.8, 0.5), (0, 0.6, 0.7)]
        await until(pilot, lambda: isinstance(app.screen, Solve) and "no readings yet" in text_of(app, "says"))
        assert "made for: Quay" in text_of(app, "choice")
        lamphouse("notebook", "readings", "1", seen(shown, list("12345")))
        await until(pilot, lambda: "what is aimed at" in text_of(app, "says"))  # seen without a key
        await press(app, pilot, "a", *str(AIM), "enter")
        await until(pilot, lambda: "Expected within" in text_of(app, "says"))
        assert "beside quay.toml" in next_action(app)
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare) and "Quay, solved" in text_of(app, "choice"))
        assert app.darkroom.archive.tests_to_read() == []
        made = load_recipe(path.with_name("quay-solved.toml"))
        assert (made.negative, made.title) == ("", "Quay, solved")

        await press(app, pilot, "enter")
        ((s, u),) = await given(app, pilot, witness)
        assert (s, u) == (pytest.approx(made.base_s, abs=0.01), _pack(made))
        second = room.still([(10 * s, u)])[0]
        assert abs(np.mean(second) - AIM) < 0.1 and np.ptp(second) < 0.15
        await until(pilot, lambda: isinstance(app.screen, Correct) and "s: solve" in next_action(app))
        lamphouse("notebook", "readings", "2", seen([(s, u)], ["grey"]))
        await press(app, pilot, "s")
        await until(pilot, lambda: isinstance(app.screen, Solve) and "Enter" in next_action(app))
        assert "write" in next_action(app) or "it is right" in next_action(app)  # the aim holds for the next sheet
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))


def _first() -> list[tuple[float, tuple[float, float, float]]]:
    return [(10.0, (0.0, 0.6, 0.5))]


def _pack(recipe: Recipe) -> tuple[float, float, float]:
    return recipe.filters.c / 100, recipe.filters.m / 100, recipe.filters.y / 100


async def test_a_look_is_chosen_taken_and_taken_back(home: Path) -> None:
    path = quay(home)
    async with stage() as (app, pilot):
        test = ring(path)
        run = printed(app, test)
        page = await solving(app, pilot, test, run)
        assert "take this look: patch 1 is right" in next_action(app)
        await press(app, pilot, "4", "up", "up", "t", *"20G", "enter")
        assert "patch 4 is 0.10 darker than right through 20G" in text_of(app, "look")
        assert read(app, run) == {}  # nothing is kept until it is taken
        await press(app, pilot, "enter")
        await until(pilot, lambda: "Expected within" in text_of(app, "says"))
        # of a grey card's 0.74: 0.10 darker, and through 20G (20C 20Y) it lacks 0.2 of cyan and yellow, its neutral aside
        third = 0.4 / 3
        grey = AIM + 0.1 + third
        assert read(app, run)["4 by eye"] == pytest.approx((grey - 0.2 - AIM, grey - AIM, grey - 0.2 - AIM))
        assert "all three colours together" in text_of(app, "says") and "each colour by itself" in text_of(app, "rows")
        await press(app, pilot, "right")
        assert "patch 5 is right" in text_of(app, "look") and "20G" not in text_of(app, "look")  # each patch has its own
        await press(app, pilot, "down", "left")
        assert "patch 4 is 0.10 darker than right through 20G" in text_of(app, "look")
        await press(app, pilot, "right")
        assert "patch 5 is 0.05 lighter than right" in text_of(app, "look")
        await press(app, pilot, "t", *"green", "enter")
        assert "not a filter pack" in text_of(app, "news")
        await press(app, pilot, "escape", "u")
        assert (page.patch, page.changed) == (5, False)
        await press(app, pilot, "u")
        assert read(app, run) == {} and "no readings yet" in text_of(app, "says")
        await press(app, pilot, "u")
        assert "nothing was taken here" in app.said.trouble
        await press(app, pilot, "a", *"grey", "enter")
        assert "is not a density" in text_of(app, "news")


async def test_a_wide_error_makes_a_strip_around_the_new_print(home: Path) -> None:
    path = quay(home)
    async with stage() as (app, pilot):
        test = ring(path)
        run = printed(app, test)
        await solving(app, pilot, test, run)
        await press(app, pilot, "down", "down", "down", "down", "down", "down", "enter")
        await until(pilot, lambda: "make a strip of it first" in text_of(app, "says"))
        assert "and a strip around it" in next_action(app) and "p: no strip" in next_action(app)
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Expose))
        page = app.screen
        assert isinstance(page, Expose)
        made = load_recipe(path.with_name("quay-solved.toml"))
        assert made.base_s > 10 and made.derived
        plan = page.job.plan
        assert page.job.made_for and page.job.made_for.path == path.with_name("quay-solved.toml")
        assert plan.patches[2].seconds == pytest.approx(made.base_s) and len(plan.patches) == 5
        assert {step.filters for step in plan.steps if step.do == "expose"} == {"60M 50Y"}
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        await press(app, pilot, "u")
        await until(pilot, lambda: not path.with_name("quay-solved.toml").exists())


async def test_without_the_strip(home: Path) -> None:
    path = quay(home)
    async with stage() as (app, pilot):
        job = load_job(path)
        run = printed(app, job)
        page = await solving(app, pilot, job, run)
        await press(app, pilot, *["down"] * 6, "enter")
        await until(pilot, lambda: page.found is not None)
        assert page.found
        await press(app, pilot, "p")
        await until(pilot, lambda: isinstance(app.screen, Prepare) and "Quay, solved" in text_of(app, "choice"))
        made = load_job(path.with_name("quay-solved.toml"))
        (light,) = [step.seconds for step in made.plan.steps if step.do == "expose"]
        assert light == pytest.approx(page.found.advice.then.seconds, abs=0.01)


async def test_the_pick_of_a_ring_is_kept_as_a_look_and_goes_with_it(home: Path) -> None:
    path = quay(home)
    async with stage() as (app, pilot):
        test = ring(path)
        run = printed(app, test)
        await app.push_screen(LookBack(test, run))
        await until(pilot, lambda: isinstance(app.screen, LookBack) and "s: solve" in next_action(app))
        await press(app, pilot, "4", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        assert read(app, run) == {"4 by eye": (0.0, 0.0, 0.0)}
        await press(app, pilot, "u")
        await until(pilot, lambda: "is gone again" in app.said.news)
        assert read(app, run) == {}
        assert [each.run for each in app.darkroom.archive.tests_to_read()] == [run]


async def test_a_patch_that_is_right_is_written_with_its_own_light(home: Path) -> None:
    path = quay(home)
    async with stage() as (app, pilot):
        test = ring(path)
        run = printed(app, test)
        await app.push_screen(LookBack(test, run))
        await until(pilot, lambda: isinstance(app.screen, LookBack) and "s: solve" in next_action(app))
        await press(app, pilot, "s", "4", "enter")
        await until(pilot, lambda: "It is right" in text_of(app, "says"))
        patch = test.plan.patches[3]
        assert f"write {patch.filters}" in next_action(app)
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))  # the page it came from has nothing more to ask
        made = load_recipe(path.with_name("quay-solved.toml"))
        assert made.base_s == pytest.approx(patch.seconds, abs=0.01)
        assert _pack(made) == pytest.approx(_controls(patch.filters))


async def test_a_ring_that_was_made_for_no_print_leads_to_a_recipe_too(home: Path) -> None:
    path = quay(home)
    async with stage() as (app, pilot):
        test = replace(ring(path), made_for=None)
        run = printed(app, test)
        await app.push_screen(LookBack(test, run))
        await until(pilot, lambda: isinstance(app.screen, LookBack) and "on to a recipe of it" in next_action(app))
        await press(app, pilot, "4", "enter")
        await until(pilot, lambda: isinstance(app.screen, Solve) and "It is right" in text_of(app, "says"))
        assert read(app, run) == {"4 by eye": (0.0, 0.0, 0.0)}
        await press(app, pilot, "u")
        assert read(app, run) == {}
        await press(app, pilot, "4", "enter", "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare) and "after test sheet 1" in text_of(app, "choice"))
        (made,) = path.parent.glob("after-test-sheet-1.toml")
        assert load_recipe(made).base_s == pytest.approx(test.plan.patches[3].seconds, abs=0.01)


async def test_a_print_from_the_notebook_that_is_right(home: Path) -> None:
    path = quay(home)
    async with stage() as (app, pilot):
        run = printed(app, load_job(path))
        await press(app, pilot, "n")
        await until(pilot, lambda: isinstance(app.screen, NotebookPage) and "s: solve" in next_action(app))
        await press(app, pilot, "s")
        await until(pilot, lambda: isinstance(app.screen, Solve) and "the print is right" in next_action(app))
        await press(app, pilot, "enter")
        await until(pilot, lambda: "it is right; on" in next_action(app))
        assert read(app, run) == {"by eye": (0.0, 0.0, 0.0)}
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare) and "Quay" in text_of(app, "choice"))
        assert list(path.parent.iterdir()) == [path]


async def test_earlier_sheets_of_the_negative_count_if_the_enlarger_stood_so(home: Path) -> None:
    same = quay(home, more='[enlargement]\nsheet = "8x10in"\n')
    same.write_text(same.read_text().replace('title = "Quay"', 'title = "Quay"\nnegative = "roll 3, 7"'))
    larger = same.with_name("larger.toml")
    larger.write_text(same.read_text().replace("8x10in", "12x16in").replace('"Quay"', '"Quay, large"'))
    async with stage() as (app, pilot):
        runs = [printed(app, load_job(path)) for path in (same, larger, same, same)]
        for run in (runs[0], runs[1], runs[3]):
            app.darkroom.archive.looked_at(run, Pack(), 0.1, None, 0.0)
        page = await solving(app, pilot, load_job(same), runs[3])
        assert page.found and [each.sheet for each in page.found.readings] == [runs[0], runs[3]]
        assert f"sheet {runs[3]}, with {runs[0]}" in text_of(app, "choice")


@pytest.mark.parametrize("size", [(80, 24), (40, 15)])
async def test_a_scale_of_each_colour_stands_below_what_was_read(home: Path, size: tuple[int, int]) -> None:
    path = quay(home)
    async with stage(size) as (app, pilot):
        job = load_job(path)
        run = printed(app, job)
        take_readings(
            app.darkroom.notebook, run, [Reading("grey", 0.9, 0.7, 0.65, None), Reading("aim", 0.76, 0.74, 0.72, None)]
        )
        page = await solving(app, pilot, job, run)
        page.call_after_refresh(page._draw)
        await until(pilot, lambda: "blue  0." in text_of(app, "rows"))
        rows = [line for line in text_of(app, "rows").splitlines() if line.startswith(("red  ", "green", "blue"))]
        assert len(rows) == 3 and all(len(row) == size[0] for row in rows)
        assert all(row.count("A") == 1 for row in rows) and {"o", "(", ")"} <= set("".join(rows))
        assert len(text_of(app, "rows").splitlines()) <= page.query_one("#rows").size.height


@pytest.mark.parametrize("size", [(80, 24), (40, 15), (160, 50)])
async def test_it_fits_every_screen(home: Path, size: tuple[int, int]) -> None:
    path = quay(home)
    async with stage(size) as (app, pilot):
        test = ring(path)
        run = printed(app, test)
        await solving(app, pilot, test, run)
        for keys in ((), ("2", *["up"] * 7, "t", *"10G", "enter"), ("enter",), ("u", "2", "enter")):
            await press(app, pilot, *keys)
            assert all(len(row) <= size[0] for row in next_action(app).splitlines()), next_action(app)
            await until(pilot, partial(_says_all, app))
            assert "aim" in next_action(app)


async def test_with_paper_out_it_is_only_read(home: Path) -> None:
    path = quay(home)
    async with stage() as (app, pilot):
        test = ring(path)
        run = printed(app, test)
        await solving(app, pilot, test, run)
        app.open_box("ra4")
        for key in ("enter", "t", "a", "u"):
            await press(app, pilot, key)
            assert "cover it first" in app.said.trouble
        assert read(app, run) == {} and "PAPER IS OUT" in next_action(app)


def _says_all(app: LamphouseApp) -> bool:
    shown = " ".join(screen_text(app).split())
    return " ".join(text_of(app, "says").split()) in shown and "Enter" in shown
