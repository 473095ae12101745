"""What a printer does, key by key and by foot alone."""

from fractions import Fraction
from functools import partial
from pathlib import Path

import pytest

from tests.tools.witness import Witness
from tests.tui.stage import cells, next_action, press, recipe_in, screen_text, stage, text_of, to_easel, until
from timer.app.strip_choice import StripChoice
from timer.documents.recipe_file import load_recipe
from tui.rooms import Room
from tui.screens.expose import Expose
from tui.screens.look_back import LookBack, chosen_seconds, place_name
from tui.screens.prepare import Prepare


async def test_a_strip_from_choosing_to_its_time_in_the_recipe(home: Path, witness: Witness) -> None:
    path = recipe_in(home)
    async with stage(choice=StripChoice(seconds=1.5, step=Fraction(1, 2), patches=2)) as (app, pilot):
        await pilot.press("down")
        await until(pilot, lambda: "Gate in the rain" in text_of(app, "choice"))
        assert "hold back" not in text_of(app, "choice")
        await pilot.press("up")
        await press(app, pilot, "o")
        await until(pilot, lambda: "made for: Gate in the rain" in text_of(app, "choice"))
        await to_easel(app, pilot)
        assert app.room is Room.RED
        await press(app, pilot, "enter")
        for n in range(2):
            await until(
                pilot,
                partial(lambda n: text_of(app, "area").startswith(f"{n + 1}/2") and "ready" in text_of(app, "area"), n),
            )
            await press(app, pilot, "enter")
            await until(pilot, lambda: "LIGHT ON" in text_of(app, "area"))
            await press(app, pilot, "enter")  # a press in the light neither ends it nor starts the next
        await until(pilot, lambda: "covered" in next_action(app))
        assert app.room is Room.RED
        assert [ns / 1e9 for ns in witness.exposures_ns()] == pytest.approx([1.5, 1.5 * (2**0.5 - 1)], abs=0.005)
        await press(app, pilot, "c")
        await until(pilot, lambda: isinstance(app.screen, LookBack))
        assert app.room is Room.WHITE
        await pilot.press("right")
        await until(pilot, lambda: "between 1 and 2" in text_of(app, "hands"))
        assert "1.78 s" in text_of(app, "hands")  # 1.5 s and a quarter stop: 1.784 s
        assert "as the base of gate.toml (Gate in the rain)" in next_action(app)
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        assert load_recipe(path).base_s == pytest.approx(1.78)
        assert "# from the strip of the day" in path.read_text()
        await until(pilot, lambda: "gate.toml: base 2 s to 1.78 s" in text_of(app, "advice"))
        await press(app, pilot, "u")
        await until(pilot, lambda: "gate.toml is as it was" in text_of(app, "news"))
        assert load_recipe(path).base_s == 2.0


async def test_by_foot_alone(witness: Witness) -> None:
    async with stage() as (app, pilot):
        await until(pilot, lambda: app.darkroom._keeper is not None)  # before, nobody hears the foot
        await pilot.pause(0.35)
        for expected in ("Enter: yes", "Enter: yes", "Enter: yes", "screen goes", "it is in", "LIGHT", "LIGHT"):
            await _tap(witness, pilot)
            await until(pilot, partial(lambda expected: expected in next_action(app), expected))
            await until(pilot, lambda: "LIGHT ON" not in text_of(app, "area"))
        for _ in range(1):
            await _tap(witness, pilot)
        await until(pilot, lambda: "covered" in next_action(app))
        assert app.paper_out
        witness.tell("P1")  # held at once: that may have been meant for the light
        await pilot.pause(1.2)
        assert app.paper_out
        witness.tell("P0")
        await pilot.press("space")  # and the dark-now key is never the way to more light
        await pilot.pause(1.2)
        assert app.paper_out
        assert app.room is Room.RED
        witness.tell("P1")  # held: only that says "covered"
        await until(pilot, lambda: not app.paper_out)
        witness.tell("P0")
        await until(pilot, lambda: isinstance(app.screen, LookBack))
        assert len(witness.exposures_ns()) == 2


async def _tap(witness: Witness, pilot: object) -> None:
    from textual.pilot import Pilot

    assert isinstance(pilot, Pilot)
    witness.tell("P1")
    await pilot.pause(0.06)
    witness.tell("P0")
    await pilot.pause(0.45)


async def test_dark_now_and_the_rest_after_leaving(home: Path, witness: Witness) -> None:
    recipe_in(home)
    async with stage() as (app, pilot):
        await pilot.press("down")
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        await press(app, pilot, "enter")
        await until(pilot, lambda: witness.lit)
        await pilot.pause(0.3)
        await pilot.press("space")
        await until(pilot, lambda: not witness.lit, 1)
        await until(pilot, lambda: "missing" in text_of(app, "hands"))
        await press(app, pilot, "q")
        await until(pilot, lambda: "covered" in next_action(app))
        assert app.room is Room.RED  # leaving a run does not cover the paper
        await press(app, pilot, "q")
        await press(app, pilot, "enter")
        assert app.room is Room.RED
        await press(app, pilot, "c")
        await until(pilot, lambda: "r: 1 unfinished" in next_action(app))
        await press(app, pilot, "r")
        await until(pilot, lambda: "base               had 0." in text_of(app, "list"))
        await press(app, pilot, "enter")
        await until(pilot, lambda: "screen goes" in next_action(app))
        await press(app, pilot, "enter")
        await until(pilot, lambda: "base had 0." in text_of(app, "list"))
        await press(app, pilot, "enter")
        for _ in range(2):
            await until(pilot, lambda: "ready" in text_of(app, "area"))
            await press(app, pilot, "enter")
            await until(pilot, lambda: "LIGHT ON" in text_of(app, "area"))
        await until(pilot, lambda: "covered" in next_action(app), 12)
    exposures = witness.exposures_ns()
    assert (exposures[0] + exposures[1]) / 1e9 == pytest.approx(2.0, abs=0.01)
    assert exposures[2] / 1e9 == pytest.approx(2 * (2**0.5 - 1), abs=0.01)


async def test_a_restart_in_the_middle_stays_in_the_room_light_and_offers_the_rest(home: Path, witness: Witness) -> None:
    recipe_in(home, "ra4")
    async with stage() as (app, pilot):
        await pilot.press("down")
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        await press(app, pilot, "enter")
        await until(pilot, lambda: witness.lit)
    assert not witness.wait(False, 2).on
    async with stage() as (app, pilot):
        assert app.room is Room.NONE
        assert "PAPER IS OUT" in next_action(app)
        await press(app, pilot, "q")
        assert app.is_running
        assert "cover it" in app.said.trouble
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Expose) and "had" in text_of(app, "list"))
        assert app.room is Room.NONE
        await press(app, pilot, "q")
        await until(pilot, lambda: "covered" in next_action(app))
        await press(app, pilot, "c")
        await until(pilot, lambda: app.room is Room.WHITE)


async def test_questions_can_be_switched_off(home: Path) -> None:
    (home / "settings.toml").write_text("speech = false\nask = false\n")
    async with stage() as (app, pilot):
        await press(app, pilot, "enter")
        await until(pilot, lambda: "screen goes" in next_action(app))


async def test_a_lost_keeper_is_shown_and_comes_back(home: Path, witness: Witness) -> None:
    async with stage(choice=StripChoice(seconds=8.0, patches=2)) as (app, pilot):
        await until(pilot, lambda: app.darkroom._keeper is not None)
        first = app.darkroom.keeper().hello.process
        _kill(first)
        await until(pilot, lambda: "keeper is gone" in text_of(app, "alarm"))
        await until(pilot, lambda: app.darkroom._keeper is not None and app.darkroom.keeper().hello.process != first)
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        await press(app, pilot, "enter")
        await until(pilot, lambda: witness.lit)
        _kill(app.darkroom.keeper().hello.process)
        await until(pilot, lambda: "keeper is gone" in text_of(app, "alarm"))
        assert not witness.lit
        assert app.room is Room.RED
        assert "covered" in next_action(app)
        assert "patches 1 to 2 had 0." in text_of(app, "hands")


def _kill(process: int) -> None:
    import os

    os.kill(process, 9)


async def test_focus_light_has_an_end_and_dark_now_ends_it(witness: Witness) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "f")
        await until(pilot, lambda: witness.lit and "FOCUS LIGHT ON" in next_action(app))
        assert "S0" in witness.other  # the safelight is off meanwhile
        for page in ("n", "z"):  # whatever page is in front, it says that the lamp is lit
            await press(app, pilot, page)
            await until(pilot, lambda: "FOCUS LIGHT ON" in text_of(app, "title"))
            await press(app, pilot, "q")
            await until(pilot, lambda: "FOCUS LIGHT ON" in next_action(app))
        await pilot.press("space")
        await until(pilot, lambda: not witness.lit)
        await until(pilot, lambda: "get ready" in next_action(app))
        await press(app, pilot, "f")
        await until(pilot, lambda: witness.lit)
        await press(app, pilot, "enter")  # getting ready leaves the focus light first
        await until(pilot, lambda: not witness.lit)


@pytest.mark.parametrize("size", [(80, 24), (40, 15), (120, 40)])
async def test_sizes_show_five_rows_of_digits_and_the_next_action(size: tuple[int, int]) -> None:
    async with stage(size=size) as (app, pilot):
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        rows = [row for row in screen_text(app).splitlines() if "█" in row and "░" not in row]
        assert len(rows) >= 5
        assert "LIGHT" in screen_text(app).splitlines()[-2]


async def test_resize_in_the_middle(witness: Witness) -> None:
    async with stage(size=(120, 40)) as (app, pilot):
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        await press(app, pilot, "enter")
        await pilot.resize_terminal(40, 15)
        await until(pilot, lambda: "2/2" in text_of(app, "area") and "ready" in text_of(app, "area"))
        assert "LIGHT" in screen_text(app)


async def test_notebook_help_and_lights_are_pages_not_pop_ups(home: Path) -> None:
    async with stage() as (app, pilot):
        for key, seen in (("n", "Nothing yet"), ("question_mark", "DARK NOW"), ("l", "ten minutes")):
            await pilot.press(key)
            await until(pilot, partial(lambda seen: seen in screen_text(app), seen))
            await press(app, pilot, "enter")
            await until(pilot, lambda: isinstance(app.screen, Prepare))


async def test_a_damaged_recipe_is_not_offered_and_the_example_is(home: Path) -> None:
    (home / "recipes").mkdir()
    (home / "recipes" / "bad.toml").write_text("recipe = 1\n")
    async with stage() as (app, pilot):
        await pilot.press("down")
        await until(pilot, lambda: "Coat by the stairs" in text_of(app, "choice"))


def test_between_two_patches_is_counted_in_stops() -> None:
    from timer.app.strip_choice import StripChoice

    plan = StripChoice(seconds=8.0, patches=5).job().plan
    assert chosen_seconds(plan, 0) == 8.0
    assert chosen_seconds(plan, 5) == pytest.approx(14.25, abs=0.01)  # between 3 (12.70) and 4 (16.00)
    assert place_name(5) == "between 3 and 4"


async def test_a_picture_of_the_sheet_with_white_light_only(home: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "down", "i")
        await until(pilot, lambda: "▀" in screen_text(app))
        assert len({front for char, front, _ in cells(app) if char == "▀"}) > 20
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
        assert app.open_box("bw")
        await press(app, pilot, "i")
        await until(pilot, lambda: "no picture" in app.said.trouble)


async def test_two_presses_in_one_moment_are_one(home: Path) -> None:
    from textual.events import Key

    async with stage() as (app, pilot):
        prepare = app.screen
        for _ in range(2):  # both are in the page's queue before it has acted on the first
            prepare.post_message(Key("enter", "\r"))
        await until(pilot, lambda: isinstance(app.screen, Expose))
        await pilot.pause(0.2)
        assert sum(isinstance(screen, Expose) for screen in app.screen_stack) == 1
