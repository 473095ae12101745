"""Room light over every cell, in every screen and state; and over the machine around the screen."""

from pathlib import Path

import pytest
from rich.color import Color as RichColor
from rich.segment import Segment
from rich.style import Style
from textual.color import Color

from tests.tools.witness import Witness
from tests.tui.stage import cells, recipe_in, screen_text, stage, text_of, to_easel, until
from tui.app import LamphouseApp
from tui.room_light import LEVELS, Room, RoomFilter, Shine, leaving_codes, room_for, terminal_codes


def check(app: LamphouseApp, where: str) -> None:
    """No green, no blue; in the dark room nothing at all."""
    seen = cells(app)
    assert len(seen) == app.size.width * app.size.height, where
    for char, front, back in seen:
        assert front[1:] == (0, 0), (where, char, front)
        assert back[1:] == (0, 0), (where, char, back)
        if app.room is Room.NONE:
            assert front == back == (0, 0, 0), (where, char, front, back)
    if app.room is Room.RED and screen_text(app).strip():
        assert any(front[0] >= LEVELS[0] for _, front, _ in seen), f"{where}: nothing to read"


@pytest.mark.parametrize("kind", ["silver", "ra4", "pan"])
async def test_every_screen_and_state_with_paper_out(home: Path, witness: Witness, kind: str) -> None:
    recipe_in(home, kind)
    async with stage() as (app, pilot):
        await pilot.press("down")
        await to_easel(app, pilot)
        assert app.room is room_for(kind)
        check(app, "easel")
        await pilot.press("enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        check(app, "armed")
        await pilot.press("question_mark")
        await until(pilot, lambda: "Enter: back" in text_of(app, "next"))
        check(app, "help")
        await pilot.press("enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        await pilot.press("enter")
        await until(pilot, lambda: "LIGHT ON" in text_of(app, "area"))
        for _ in range(3):
            await pilot.pause(0.1)
            check(app, "lit")
        for _ in LEVELS:
            await pilot.press("d")
            await pilot.pause()
            check(app, f"level {app.level}")
        await pilot.press("space")
        await until(pilot, lambda: "missing" in text_of(app, "hands"))
        check(app, "paused")
        app.notify("a toast that nobody should send", severity="error", title="toast")
        await pilot.pause(0.2)
        check(app, "toast")
        app.report("trouble with the notebook")
        await pilot.pause()
        check(app, "trouble")
        await pilot.resize_terminal(40, 15)
        await pilot.pause(0.1)
        check(app, "small")
        await pilot.press("q")
        await until(pilot, lambda: "covered" in text_of(app, "next"))
        check(app, "over")
        for name in ("prepare", "notebook", "lights", "look back"):
            await _show(app, name)
            await pilot.pause(0.1)
            check(app, name)
            for key in ("up", "down", "left", "right", "v", "f"):
                await pilot.press(key)
                await pilot.pause()
                check(app, f"{name} {key}")


async def _show(app: LamphouseApp, name: str) -> None:
    """Pages that are not reached with paper out in the usual way must be safe all the same."""
    from timer.run.jobs import StripChoice
    from tui.screens.lights import Lights
    from tui.screens.look_back import LookBack
    from tui.screens.notebook import NotebookPage
    from tui.screens.prepare import Prepare

    pages = {"prepare": Prepare, "notebook": NotebookPage, "lights": Lights}
    await app.push_screen(pages[name]() if name in pages else LookBack(StripChoice().job().plan))


async def test_white_comes_back_when_it_is_covered() -> None:
    async with stage() as (app, pilot):
        before = cells(app)
        app.paper(True, "silver")
        await pilot.pause(0.1)
        check(app, "red")
        app.paper(False)
        await pilot.pause(0.1)
        after = cells(app)
        assert {front for _, front, _ in after} == {front for _, front, _ in before}


async def test_a_crash_with_paper_out_prints_nothing(home: Path, capfd: pytest.CaptureFixture[str]) -> None:
    app = LamphouseApp()
    with pytest.raises(ZeroDivisionError):
        async with app.run_test() as pilot:
            app.paper(True, "silver")
            await pilot.pause()
            app.call_later(lambda: 1 // 0)
            await pilot.pause(0.2)
    app.desk.close()
    out, err = capfd.readouterr()
    assert "Traceback" not in out + err
    assert "\x1b[3" not in out + err
    assert "ZeroDivisionError" in (home / "fault.log").read_text()


@pytest.mark.parametrize("level", range(len(LEVELS)))
def test_the_filter_is_pure_for_any_style(level: int) -> None:
    colors = ["default", "red", "bright_cyan", "#123456", "#ffffff", "#000000", "color(200)"]
    for front in colors:
        for back in colors:
            for reverse in (False, True):
                style = Style(color=front, bgcolor=back, reverse=reverse, bold=True, underline=True)
                ((_, made, _),) = RoomFilter(Room.RED, level).apply([Segment("x", style)], Color(0, 0, 0))
                assert made and made.color and made.bgcolor
                assert {made.color.get_truecolor(), made.bgcolor.get_truecolor()} == {(LEVELS[level], 0, 0), (0, 0, 0)}
                assert made.bold is None and made.reverse is None
    segments = RoomFilter(Room.NONE, level).apply([Segment("secret", None), Segment("漢", None)], Color(0, 0, 0))
    assert "".join(s.text for s in segments) == " " * 8


def test_every_level_is_red_on_a_console_of_16_and_a_terminal_of_256_colours() -> None:
    from rich.color import ColorSystem

    for red in LEVELS:
        assert RichColor.from_rgb(red, 0, 0).downgrade(ColorSystem.STANDARD).number in (1, 9)
        assert RichColor.from_rgb(red, 0, 0).downgrade(ColorSystem.EIGHT_BIT).number in (52, 88, 124, 160, 196, 1, 9)


def test_red_is_for_silver_alone() -> None:
    assert [room_for(kind) for kind in ("silver", "ra4", "pan", "")] == [Room.RED, Room.NONE, Room.NONE, Room.NONE]


def test_the_console_palette_is_remapped_and_restored() -> None:
    codes = terminal_codes(Room.RED, 1, "linux")
    assert codes.count("\x1b]P") == 16
    assert codes.startswith("\x1b]P0000000")
    assert all(entry[1:] in ("000000", "880000") for entry in codes.split("\x1b]P")[1:])
    assert terminal_codes(Room.NONE, 4, "linux").count("000000") == 16
    assert terminal_codes(Room.WHITE, 4, "linux") == "\x1b]R"
    assert "#000000" in terminal_codes(Room.NONE, 4, "xterm")
    assert leaving_codes(Room.RED, "xterm").endswith("\x1b[0;31;40m\x1b[2J\x1b[3J\x1b[H")


def test_backlight_and_leds_are_put_out_and_back(tmp_path: Path) -> None:
    light = tmp_path / "backlight" / "panel"
    led = tmp_path / "leds" / "ACT"
    for folder in (light, led):
        folder.mkdir(parents=True)
        (folder / "brightness").write_text("200")
    (light / "max_brightness").write_text("255\n")
    (led / "trigger").write_text("none [mmc0] timer\n")
    shine = Shine(tmp_path)
    assert shine.lights() == ["ACT", "panel"]
    shine.set(Room.NONE, 4)
    assert [(p / "brightness").read_text() for p in (light, led)] == ["0", "0"]
    assert (led / "trigger").read_text() == "none"
    shine.set(Room.RED, 0)
    assert (light / "brightness").read_text() == "25"
    shine.set(Room.WHITE, 4)
    assert (light / "brightness").read_text() == "200"
    assert (led / "brightness").read_text() == "200"
    assert (led / "trigger").read_text() == "mmc0"
    assert Shine(tmp_path / "none").lights() == []
