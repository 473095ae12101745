"""To the box and back: packs of a ring are dialled by the screen's light, with the paper covered by the printer's word."""

from functools import partial
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tools.witness import Witness
from tests.tui.stage import next_action, press, recipe_in, stage, text_of, to_easel, to_light, until
from tests.tui.test_room_light import check
from timer.app.jobs import Job
from timer.craft.filters import Pack
from timer.notebook import paper_out
from timer.notebook.store import Notebook
from timer.plans.test_sheets import packs_plan
from tui.app import LamphouseApp
from tui.rooms import Room
from tui.screens.expose import Expose
from tui.screens.prepare import Prepare

PACKS = [("as it is", Pack(0, 60, 50)), ("more magenta", Pack(0, 70, 50))]


async def exposed(app: LamphouseApp, pilot: Pilot[int], witness: Witness) -> Expose:
    """Two packs on a sheet, the first one's light given; the sheet is to go into its box."""
    app.expose(Job(packs_plan("two packs", PACKS, 0.4, "dichroic")))
    await until(pilot, lambda: isinstance(app.screen, Expose) and "60M 50Y in" in text_of(app, "list"))
    page = app.screen
    assert isinstance(page, Expose)
    for _ in range(3):
        await press(app, pilot, "enter")
    await until(pilot, lambda: "screen goes" in next_action(app))
    await press(app, pilot, "enter")
    await to_light(app, pilot)
    await until(pilot, lambda: page.stage == "cover")
    assert len(witness.exposures_ns()) == 1
    return page


async def lit(app: LamphouseApp, pilot: Pilot[int], witness: Witness) -> Expose:
    """The first light of the newest recipe, on."""
    await pilot.press("down")
    await to_easel(app, pilot)
    await to_light(app, pilot)
    page = app.screen
    assert isinstance(page, Expose)
    await until(pilot, lambda: witness.lit)
    return page


async def test_a_ring_waits_for_its_dials(home: Path, witness: Witness) -> None:
    heard: list[str] = []
    async with stage() as (app, pilot):
        app.sound.heard = heard.append
        page = await exposed(app, pilot, witness)
        check(app, "cover")
        assert heard[-2:] == ["tone cover", "say the sheet into its box, box shut"]
        for key in ("enter", "space", "f", "c"):  # nothing of that is light, nor that the sheet is in its box: too soon
            await press(app, pilot, key)
            check(app, f"cover {key}")
        witness.tell("P1")  # nor is a pedal; and a held one is too soon as well
        await pilot.pause(0.7)
        witness.tell("P0")
        assert page.stage == "cover" and app.paper_out and app.room is Room.NONE
        assert "into its box first" in app.said.trouble
        page._dark_since -= 2.0
        await press(app, pilot, "c")
        await until(pilot, lambda: app.room is Room.WHITE)
        assert not app.paper_out
        assert "filters to 70M 50Y; window over patch 2" in text_of(app, "hands")
        for key in ("space", "f", "n", "c"):
            await press(app, pilot, key)
        assert (page.stage, witness.lit) == ("look", False)
        await press(app, pilot, "enter")
        await until(pilot, lambda: app.room is Room.NONE and app.paper_out)
        check(app, "back")
        assert heard[-2:] == ["tone box", "say open the box: the sheet into the easel, just as it lay, box shut"]
        assert [paper.run for paper in app.darkroom.out] == [page.session.number]
        assert len(witness.exposures_ns()) == 1
        await press(app, pilot, "space")
        await to_light(app, pilot, number="2/2")
        await until(pilot, lambda: "covered" in next_action(app))
        check(app, "over")
        lit = [ns / 1e9 for ns in witness.exposures_ns()]
        assert lit == pytest.approx([step.seconds for step in page.job.plan.steps if step.do == "expose"], abs=0.01)
        assert heard[-2] == "tone finished"


def _at(page: Expose, stage: str) -> bool:
    return page.stage == stage


async def test_by_foot_alone(home: Path, witness: Witness) -> None:
    async with stage() as (app, pilot):
        page = await exposed(app, pilot, witness)
        page._dark_since -= 2.0
        witness.tell("P1")
        await until(pilot, lambda: page.stage == "look")
        witness.tell("P0")
        for then in ("back", "run"):
            await pilot.pause(0.4)
            witness.tell("P1")
            await pilot.pause(0.05)
            witness.tell("P0")
            await until(pilot, partial(_at, page, then))
        assert app.paper_out and app.room is Room.NONE


@pytest.mark.parametrize("kind", ["bw", "ra4"])
async def test_from_any_run_by_a_key_while_nothing_is_lit(home: Path, witness: Witness, kind: str) -> None:
    recipe_in(home, kind)
    async with stage() as (app, pilot):
        await pilot.press("down")
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        page = app.screen
        assert isinstance(page, Expose)
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        await press(app, pilot, "c")
        await until(pilot, lambda: page.stage == "cover")
        check(app, "cover")
        page._dark_since -= 2.0
        await press(app, pilot, "c")
        await until(pilot, lambda: app.room is Room.WHITE)
        witness.tell("P1")  # the lamp's own pedal: that is the press that makes it dark
        await until(pilot, lambda: page.stage == "back")
        witness.tell("P0")
        assert app.room is (Room.RED if kind == "bw" else Room.NONE)
        assert witness.exposures_ns() == []
        await to_light(app, pilot, number="1/2")
        await until(pilot, lambda: "LIGHT ON" in text_of(app, "area"))
        await press(app, pilot, "c")  # the light goes on
        assert page.stage == "run" and witness.lit
        await pilot.press("space")
        await until(pilot, lambda: "missing" in text_of(app, "hands"))
        await press(app, pilot, "c")
        await until(pilot, lambda: page.stage == "cover")
        await press(app, pilot, "q")
        await until(pilot, lambda: page.stage == "over" and "Paper covered" in next_action(app))


async def test_left_in_its_box_the_rest_is_offered(home: Path, witness: Witness) -> None:
    async with stage() as (app, pilot):
        page = await exposed(app, pilot, witness)
        page._dark_since -= 2.0
        await press(app, pilot, "c")
        await until(pilot, lambda: page.stage == "look")
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare) and "r: 1 unfinished" in next_action(app))
        assert app.room is Room.WHITE
        run = app.darkroom.archive.unfinished()[0]
        job, _ = app.darkroom.rest(run)
        assert [step.area for step in job.plan.steps if step.do == "expose"] == ["patch 2"]


async def test_ended_by_force_while_it_comes_out_again(home: Path, witness: Witness) -> None:
    async with stage() as (app, pilot):
        page = await exposed(app, pilot, witness)
        run = page.session.number
        page._dark_since -= 2.0
        await press(app, pilot, "c")
        await until(pilot, lambda: page.stage == "look")
        await press(app, pilot, "enter")
        await until(pilot, lambda: page.stage == "back")
    with Notebook(home / "notebook.db") as book:
        (out,) = paper_out.all_out(book)
        assert (out.kind, out.run) == ("ra4", run)
    async with stage() as (app, pilot):
        assert app.room is Room.NONE
        assert f"finish sheet {run}" in next_action(app)


@pytest.mark.parametrize("kind", ["bw", "ra4"])
@pytest.mark.parametrize("pedal", ["the lamp's own", "a keyboard's"])
async def test_by_foot_alone_from_a_light_that_was_darkened(home: Path, witness: Witness, kind: str, pedal: str) -> None:
    """Held while it is lit it is dark; held again two seconds later the sheet goes to its box, and a third time: it is there."""
    (home / "settings.toml").write_text('speech = false\npedal_key = "f9"\n')
    recipe_in(home, kind)
    async with stage() as (app, pilot):

        async def hold() -> None:
            if pedal == "the lamp's own":
                witness.tell("P1")
                await pilot.pause(app.darkroom.settings.hold_s + 0.2)
                witness.tell("P0")
                await pilot.pause(0.4)
                return
            app.page.counts("f9", sure=True)  # as the keys tell it: pressed, and then held (tests/tui/test_paper.py)
            await pilot.pause(0.1)
            app.page.held()
            await pilot.pause(0.1)

        page = await lit(app, pilot, witness)
        await pilot.pause(0.5)
        await hold()
        await until(pilot, lambda: "missing" in text_of(app, "hands"))
        assert "pedal held: to the box" in next_action(app)
        given = len(witness.edges)
        page._dark_since += 60.0
        await hold()  # too soon: it was meant for the light
        assert page.stage == "run"
        page._dark_since -= 63.0  # more than the two seconds that it must have been dark
        await hold()
        await until(pilot, lambda: page.stage == "cover")
        check(app, "cover")
        page._dark_since += 60.0
        await hold()
        assert page.stage == "cover" and app.paper_out
        page._dark_since -= 63.0
        await hold()
        await until(pilot, lambda: app.room is Room.WHITE)
        for then in ("back", "run"):
            await press(app, pilot, "enter")
            await until(pilot, partial(_at, page, then))
        assert app.paper_out and len(witness.edges) == given
        await to_light(app, pilot, number="1/2")  # what was missing, and no more
        await until(pilot, lambda: len(witness.edges) == given + 2)
        first, second = (ns / 1e9 for ns in witness.exposures_ns())
        assert first + second == pytest.approx(2.0, abs=0.02)


async def test_space_never_asks_for_the_box(home: Path, witness: Witness) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        page = await lit(app, pilot, witness)
        await pilot.press("space")
        await until(pilot, lambda: "missing" in text_of(app, "hands"))
        page._dark_since -= 2.0
        await pilot.press("space")
        await pilot.pause(0.3)
        assert page.stage == "run" and "missing" in text_of(app, "hands")
