"""Paper is never lit by a mistake: what the screen remembers, refuses, lists, and says by ear."""

from __future__ import annotations

import random
import time
from fractions import Fraction
from functools import partial
from pathlib import Path

import pytest
from textual.events import Key

from tests.tools.trains import held, trains
from tests.tools.witness import Witness
from tests.tui.stage import next_action, press, recipe_in, stage, text_of, to_easel, to_light, until
from timer.app.lamp import keeper_config
from timer.app.strip_choice import StripChoice
from timer.documents.recipe_file import load_recipe
from timer.documents.settings_file import load_settings
from timer.keeper.claim import Claim
from timer.notebook import paper_out
from timer.notebook.store import Notebook
from tui.rooms import Room
from tui.screens.expose import Expose
from tui.screens.look_back import LookBack
from tui.screens.prepare import Prepare
from tui.screens.unfinished import Unfinished

SLOW = StripChoice(seconds=6.0, step=Fraction(1, 2), patches=2)


def runs(home: Path) -> list[tuple[str, int]]:
    """State of each run, and how many exposures it has; the oldest first."""
    with Notebook(home / "notebook.db", read_only=True) as notebook:
        return [(row.state, len(notebook.exposures(row.id))) for row in reversed(notebook.runs())]


# ── sheet memory ─────────────────────────────────────────────────────────────


async def test_leaving_at_a_question_writes_nothing(home: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "enter")
        for n in (3, 2):
            await until(pilot, partial(lambda n: isinstance(app.screen, Expose) and len(app.screen._asked) == n, n))
            await press(app, pilot, "enter")
        await press(app, pilot, "q")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        assert app.darkroom.out == ()
    assert runs(home) == []


async def test_the_screen_is_dark_before_it_says_open_the_box(home: Path) -> None:
    async with stage() as (app, pilot):
        seen: list[tuple[Room, int]] = []

        def heard(text: str) -> None:
            if text == "tone box" or "open the box" in text:
                seen.append((app.room, len(paper_out.all_out(app.darkroom.notebook))))

        app.sound.heard = heard
        await to_easel(app, pilot)
        assert seen == [(Room.RED, 1)] * 2  # the tone, and the words


async def test_killed_twice_and_left_at_a_question_it_still_knows(home: Path, witness: Witness) -> None:
    """Exposing, killed; begun again, the rest asked for and left; ended; begun again: red, and the first sheet's rest."""
    recipe_in(home)
    async with stage() as (app, pilot):
        await pilot.press("down")
        await to_easel(app, pilot)
        await to_light(app, pilot)
        await until(pilot, lambda: witness.lit)
        await pilot.pause(0.3)
    for _ in range(2):
        async with stage() as (app, pilot):
            assert app.room is Room.RED
            assert "finish sheet 1" in next_action(app)
            await press(app, pilot, "enter")
            await until(pilot, lambda: isinstance(app.screen, Expose) and "just as it lay" in text_of(app, "list"))
            await press(app, pilot, "q")
            await until(pilot, lambda: "covered" in next_action(app))
    assert runs(home) == [("stopped", 1)]


async def test_colour_paper_killed_before_it_is_in_is_dark_at_the_next_start(home: Path) -> None:
    async with stage(choice=StripChoice(paper="ra4")) as (app, pilot):
        await to_easel(app, pilot)
    async with stage() as (app, _):
        assert app.room is Room.NONE
        assert "PAPER IS OUT" in next_action(app)
    assert runs(home) == [("stopped", 0)]


async def test_all_unfinished_sheets_are_listed_and_none_displaces_another(home: Path, witness: Witness) -> None:
    async with stage(choice=SLOW) as (app, pilot):
        for n in range(2):
            await to_easel(app, pilot)
            await to_light(app, pilot)
            await until(pilot, lambda: witness.lit)
            await pilot.pause(0.2 + n)
            await pilot.press("space")
            await until(pilot, lambda: "missing" in text_of(app, "hands"))
            await press(app, pilot, "q")
            await until(pilot, lambda: "covered" in next_action(app))
            await press(app, pilot, "c")
            await until(pilot, lambda: isinstance(app.screen, Prepare))
        await press(app, pilot, "r")
        await until(pilot, lambda: isinstance(app.screen, Unfinished))
        assert isinstance(app.screen, Unfinished)
        assert [row.id for row in app.screen.rows] == [2, 1]
        await pilot.press("down")
        await press(app, pilot, "enter")  # the older one
        await until(pilot, lambda: isinstance(app.screen, Expose) and "screen goes" in next_action(app))
        await press(app, pilot, "q")  # and left again, before the box is open
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        assert [row.id for row in app.darkroom.archive.unfinished()] == [2, 1]
        await press(app, pilot, "r", "g")
        assert "Give sheet 2 up?" in next_action(app)
        await press(app, pilot, "n")
        assert [row.id for row in app.darkroom.archive.unfinished()] == [2, 1]
        await press(app, pilot, "g", "y")
        assert [row.id for row in app.darkroom.archive.unfinished()] == [1]


async def test_the_rest_of_a_sheet_that_lies_out_is_for_no_other(home: Path, witness: Witness) -> None:
    async with stage(choice=SLOW) as (app, pilot):
        for covered in (True, False):
            await to_easel(app, pilot)
            await to_light(app, pilot)
            await until(pilot, lambda: witness.lit)
            await pilot.pause(0.2)
            await press(app, pilot, "q")
            await until(pilot, lambda: "covered" in next_action(app))
            if covered:
                await press(app, pilot, "c")
                await until(pilot, lambda: isinstance(app.screen, Prepare))
    async with stage() as (app, pilot):
        await press(app, pilot, "r")
        await until(pilot, lambda: "PAPER OUT" in text_of(app, "list"))
        await pilot.press("down")
        await press(app, pilot, "enter")
        assert "another sheet is out" in app.said.trouble
        assert isinstance(app.screen, Unfinished)


# ── light and paper exclude each other ───────────────────────────────────────


async def test_a_focus_light_is_certainly_off_before_the_box_is_opened(home: Path, witness: Witness) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "f")
        await until(pilot, lambda: witness.lit)
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Expose))
        assert not witness.lit
        app.darkroom.focus(30)  # lit again behind the screen's back
        await until(pilot, lambda: witness.lit)
        app.darkroom.open_box("bw")
        await until(pilot, lambda: not witness.lit, 1)
        with pytest.raises(Exception, match="no focus light while paper is out"):
            app.darkroom.focus(30)
        await pilot.pause(0.1)
        assert not witness.lit


async def test_with_a_focus_light_elsewhere_the_box_stays_shut(home: Path) -> None:
    lamp = Claim(keeper_config(load_settings()).lamp_key)  # as `lamphouse lamp view` has it
    try:
        async with stage(choice=SLOW) as (app, _):
            assert not app.open_box("bw")
            assert "held by another Lamphouse" in app.said.trouble
            assert app.room is Room.WHITE
            assert app.darkroom.out == ()
    finally:
        lamp.close()


@pytest.mark.parametrize("how", ["f", "space", "enter", "hold", "time"])
async def test_the_safelight_returns_however_the_focus_light_ends(home: Path, witness: Witness, how: str) -> None:
    if how == "time":
        (home / "settings.toml").write_text("speech = false\nfocus_minutes = 0.26\n")
    async with stage() as (app, pilot):
        await until(pilot, lambda: "S1" in witness.other)  # on from the start
        if how == "time":
            app.darkroom.focus(1.0)
        else:
            await press(app, pilot, "f")
        await until(pilot, lambda: witness.lit and witness.other[-1] == "S0")
        if how == "hold":
            witness.tell("P1")
        elif how == "space":
            await pilot.press("space")
        elif how != "time":
            await press(app, pilot, how)
        await until(pilot, lambda: not witness.lit and [line for line in witness.other if line[0] == "S"][-1] == "S1")


@pytest.mark.parametrize("kind", ["bw", "ra4"])
async def test_the_safelight_is_only_for_paper_that_bears_it(home: Path, witness: Witness, kind: str) -> None:
    async with stage() as (app, pilot):
        await until(pilot, lambda: witness.other[-1:] == ["S1"])
        assert app.open_box(kind)
        assert _safelight(witness) == ("S1" if kind == "bw" else "S0")
    async with stage() as (app, pilot):  # a start with that paper out
        await until(pilot, lambda: app.darkroom._keeper is not None)
        await pilot.pause(0.2)
        assert _safelight(witness) == ("S1" if kind == "bw" else "S0")
        await press(app, pilot, "c")
        await until(pilot, lambda: _safelight(witness) == "S1")


def _safelight(witness: Witness) -> str:
    return [line for line in witness.other if line[0] == "S"][-1]


# ── one screen a lamp ────────────────────────────────────────────────────────


async def test_a_second_screen_looks_on_in_the_same_light_and_can_only_switch_dark(home: Path, witness: Witness) -> None:
    place = Claim(keeper_config(load_settings()).screen_key)
    try:
        async with stage() as (app, pilot):
            await until(pilot, lambda: "watching only" in text_of(app, "title"))
            with Notebook(home / "notebook.db") as other:
                paper_out.open_box(other, "bw")
                await until(pilot, lambda: app.room is Room.RED)
                await press(app, pilot, "c")
                await until(pilot, lambda: "another screen" in app.said.trouble)
                assert app.room is Room.RED
                assert paper_out.all_out(other)
                paper_out.cover(other)
            await until(pilot, lambda: app.room is Room.WHITE)
            for key in ("f", "enter"):
                app.said.over()
                await press(app, pilot, key)
                await until(pilot, lambda: "another screen" in app.said.trouble)
            assert isinstance(app.screen, Prepare)
            place.close()
            await until(pilot, lambda: app.darkroom.is_ours)
            await until(pilot, lambda: app.darkroom._keeper is not None)
    finally:
        place.close()


async def test_the_second_screens_space_darkens_the_firsts_light(home: Path, witness: Witness) -> None:
    async with stage(choice=SLOW) as (first, pilot):
        await to_easel(first, pilot)
        await to_light(first, pilot)
        await until(pilot, lambda: witness.lit)
        from timer.app.darkroom import Darkroom

        second = Darkroom(lambda event: None)
        try:
            assert not second.is_ours
            assert second.other
            second.dark()
            await until(pilot, lambda: not witness.lit, 2)
            await until(pilot, lambda: "switched off from elsewhere" in text_of(first, "alarm"))
            await until(pilot, lambda: "patches 1 to" in text_of(first, "hands") and " had " in text_of(first, "hands"))
            assert "given later, with r" in text_of(first, "hands")
            await until(pilot, lambda: first.darkroom._keeper is not None)  # and it is ready again, and dark, without a word
            assert "switched off from elsewhere" in text_of(first, "alarm")
            assert not witness.lit
        finally:
            second.close()
        await until(pilot, lambda: "covered" in next_action(first))
        assert first.room is Room.RED


# ── presses ──────────────────────────────────────────────────────────────────


async def test_enter_held_for_ten_seconds_is_one_act(home: Path, witness: Witness) -> None:
    """Shortened by giving the keys the times at which they would come."""
    async with stage() as (app, pilot):
        page = app.screen
        begin = time.monotonic() - 10
        for at in held(begin, 10.0):
            key = Key("enter", "\r")
            key.time = at
            page.post_message(key)
        await pilot.pause(0.5)
        await until(pilot, lambda: app.keys.settled)
        assert isinstance(app.screen, Prepare)  # it was over before we looked: none of it is a press any more
        for at in held(time.monotonic(), 1.2, delay=0.25):
            while time.monotonic() < at:
                await pilot.pause(0.005)
            app.screen.post_message(Key("enter", "\r"))
        await pilot.pause(0.3)
        assert isinstance(app.screen, Expose)
        assert len(app.screen._asked) == 3
        assert witness.edges == []


@pytest.mark.parametrize("seed", [1, 2, 3])
async def test_trains_of_keys_and_pedals_never_give_two_lights_a_press(home: Path, witness: Witness, seed: int) -> None:
    found = await trains(home, witness, random.Random(seed), 14)
    assert found.faults == []


async def test_a_pedal_that_is_a_keyboard_presses_and_its_hold_is_dark_now(home: Path, witness: Witness) -> None:
    (home / "settings.toml").write_text('speech = false\npedal_key = "f9"\nask = false\n')

    async def foot(seconds: float) -> None:
        for at in held(time.monotonic(), seconds, delay=0.25):
            while time.monotonic() < at:
                await pilot.pause(0.005)
            key = Key("f9", None)
            key.time = at
            app.screen.post_message(key)

    async with stage(choice=SLOW) as (app, pilot):
        for expected in ("screen goes", "it is in", "LIGHT"):
            await foot(0.1)
            await until(pilot, partial(lambda expected: expected in next_action(app), expected))
            await pilot.pause(1.2)
        await foot(1.5)  # the press that starts the light is long: it must not end it
        assert witness.lit
        await pilot.pause(0.4)
        await foot(1.2)
        await until(pilot, lambda: not witness.lit, 1)
        await until(pilot, lambda: "missing" in text_of(app, "hands"))
        assert len(witness.exposures_ns()) == 1


async def test_a_press_that_may_be_a_repeat_gives_no_light(home: Path, witness: Witness) -> None:
    async with stage() as (app, pilot):
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        await pilot.press("enter")  # 0.3 to 1.1 s after the last one
        await until(pilot, lambda: "too soon to be sure" in app.said.trouble)
        assert not witness.lit
        await pilot.pause(1.2)
        await pilot.press("enter")
        await until(pilot, lambda: bool(witness.edges))


# ── targets ──────────────────────────────────────────────────────────────────


async def test_a_pick_goes_to_no_recipe_that_was_browsed_past(home: Path) -> None:
    path = recipe_in(home, "ra4")
    before = path.read_text()
    async with stage() as (app, pilot):
        await pilot.press("down")
        await until(pilot, lambda: "Gate" in text_of(app, "choice"))
        await pilot.press("up")
        await press(app, pilot, "o")
        assert "made for: no print" in text_of(app, "choice")  # there is none on this paper
        await app.push_screen(LookBack(app.choice.job()))
        await until(pilot, lambda: "made for no print" in next_action(app))
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
    assert path.read_text() == before


async def test_a_strip_for_the_print_that_is_shown(home: Path) -> None:
    recipe_in(home, "ra4")
    async with stage(choice=StripChoice()) as (app, pilot):
        await pilot.press("down")
        await press(app, pilot, "s")
        assert "strip on colour: from 1.3 s" in text_of(app, "choice")  # 2 s less two thirds of a stop
        assert "made for: Gate in the rain" in text_of(app, "choice")
        await press(app, pilot, "k")
        assert "made for: no print" in text_of(app, "choice")


async def test_a_rings_pick_takes_its_pack(home: Path) -> None:
    from timer.app.jobs import load_job
    from tui.screens.test_sheet import TestSheet

    path = recipe_in(home, "ra4")
    path.write_text(path.read_text().replace("[[dodge]]", '[filters]\nm = 60\ny = 50\nhead = "dichroic"\n[[dodge]]', 1))
    async with stage() as (app, pilot):
        await app.push_screen(TestSheet(load_job(path)))
        await pilot.pause(0.1)
        test = app.screen
        assert isinstance(test, TestSheet)
        plan = test.plan()
        from timer.app.jobs import Job

        await app.push_screen(LookBack(Job(plan, made_for=test.job, picks=test._picks(plan))))
        await press(app, pilot, "2")
        await until(pilot, lambda: plan.patches[1].filters in next_action(app))
        await press(app, pilot, "enter")
        await until(pilot, lambda: not isinstance(app.screen, LookBack))
    (made,) = path.parent.glob("gate-*.toml")
    recipe = load_recipe(made)
    assert f"{recipe.filters.m:g}M {recipe.filters.y:g}Y" == plan.patches[1].filters
    assert recipe.base_s == pytest.approx(plan.patches[1].seconds, abs=0.001)
    assert load_recipe(path).base_s == 2.0


# ── by ear ───────────────────────────────────────────────────────────────────


async def test_a_colour_strip_by_ear_alone(home: Path, witness: Witness) -> None:
    async with stage(choice=StripChoice(seconds=0.3, step=Fraction(1, 2), patches=2, paper="ra4")) as (app, pilot):
        heard: list[str] = []
        app.sound.heard = heard.append
        await press(app, pilot, "enter")
        for n in range(3):
            await until(pilot, partial(lambda n: isinstance(app.screen, Expose) and len(app.screen._asked) == 3 - n, n))
            await press(app, pilot, "enter")
        await until(pilot, lambda: "screen goes" in next_action(app))
        assert any("NOTHING HERE CAN BE HEARD" in line for line in heard)
        await press(app, pilot, "enter")
        await until(pilot, lambda: app.paper_out)
        await press(app, pilot, "enter")
        for _ in range(2):
            await until(pilot, lambda: heard[-1].endswith("ready"))
            heard.append("(press)")
            await press(app, pilot, "enter")
        await until(pilot, lambda: "tone finished" in heard)
        await pilot.pause(0.1)
    begin = heard.index("tone box")
    assert heard[begin:] == [
        "tone box",
        "say open the box: one sheet into the easel, box shut",
        "tone easel",
        "tone ready",
        "say sheet 1. strip uncovered. ready",
        "(press)",
        "tone end",
        "tone ready",
        "say cover patch 1 with the card: 1 of 2 covered. ready",
        "(press)",
        "tone finished",
        "say finished. Say when the paper is covered.",
    ]


async def test_interrupted_refused_and_a_silent_lamp_are_heard(home: Path, witness: Witness) -> None:
    import os

    async with stage(choice=SLOW) as (app, pilot):
        heard: list[str] = []
        app.sound.heard = heard.append
        await to_easel(app, pilot)
        await to_light(app, pilot)
        await until(pilot, lambda: witness.lit)
        await pilot.press("space")
        await until(pilot, lambda: "tone interrupted" in heard)
        assert heard[-1].startswith("say dark. ")
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        process = app.darkroom.keeper().hello.process
        os.kill(process, 9)
        await until(pilot, lambda: "tone silent" in heard)
        await until(pilot, lambda: any("keeper is gone" in line and "patches 1 to 2 had" in line for line in heard))


async def test_what_the_host_did_not_say_disarms_and_is_heard(home: Path, witness: Witness) -> None:
    from timer.keeper.wire import messages
    from timer.keeper.wire.messages import EndReason

    async with stage(choice=SLOW) as (app, pilot):
        heard: list[str] = []
        app.sound.heard = heard.append
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        session = app.screen.session  # type: ignore[attr-defined]
        app.darkroom.keeper().halt()
        session._inbox.put(messages.Disarmed(session._exposures.row.name, EndReason.HOST_SILENT))
        await until(pilot, lambda: "tone silent" in heard)
        assert any("not ready any more" in line for line in heard)
        await until(pilot, lambda: "ready again" in next_action(app))  # once it is told that all is dark
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        assert witness.edges == []
        await press(app, pilot, "enter")
        await until(pilot, lambda: witness.lit)
