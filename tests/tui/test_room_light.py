"""Room light over every cell, in every screen and state; and over the machine around the screen."""

from collections.abc import Callable
from pathlib import Path

import pytest
from rich.color import Color as RichColor
from rich.segment import Segment
from rich.style import Style
from textual.color import Color

from tests.tools.terminal import DEPTHS
from tests.tools.terminal_model import Model
from tests.tools.witness import Witness
from tests.tui.stage import cells, next_action, press, recipe_in, screen_text, stage, text_of, to_easel, to_light, until
from timer.app.jobs import Job, load_job
from timer.app.strip_choice import StripChoice
from timer.notebook.rows import SAFELIGHT_KINDS, PaperOut, RunRow
from timer.plans.recipe_rows import empty
from tui import terminal
from tui.app import LamphouseApp
from tui.page import Page
from tui.room_light import RoomFilter
from tui.rooms import BLACK, LEVELS, Room, red_of, room_for
from tui.screens.baths import Baths
from tui.screens.change_recipe import ChangeRecipe
from tui.screens.correct import Correct
from tui.screens.edit_recipe import EditRecipe
from tui.screens.expose import Expose
from tui.screens.help import Help
from tui.screens.lights import Lights
from tui.screens.look_back import LookBack
from tui.screens.negatives import Negatives
from tui.screens.notebook import NotebookPage
from tui.screens.outlines import Outlines
from tui.screens.picture import Picture
from tui.screens.prepare import Prepare
from tui.screens.reprint import Reprint
from tui.screens.scan import ScanPage
from tui.screens.solve import Solve
from tui.screens.test_sheet import TestSheet
from tui.screens.to_read import ToRead
from tui.screens.unfinished import Unfinished
from tui.shine import Shine

KINDS = ["bw", "ra4", "pan"]


def check(app: LamphouseApp, where: str) -> None:
    """No green, no blue; in the dark room nothing at all."""
    seen = cells(app)
    assert len(seen) == app.size.width * app.size.height, where
    for char, front, back in seen:
        assert front[1:] == (0, 0), (where, char, front)
        assert back[1:] == (0, 0), (where, char, back)
        if app.room is Room.NONE or app.light.level == BLACK:
            assert front == back == (0, 0, 0), (where, char, front, back)
    if app.room is Room.RED and app.light.level != BLACK and screen_text(app).strip():
        assert any(front[0] >= LEVELS[0] for _, front, _ in seen), f"{where}: nothing to read"


@pytest.mark.parametrize("kind", KINDS)
async def test_every_state_of_a_run(home: Path, witness: Witness, kind: str) -> None:
    recipe_in(home, kind)
    async with stage() as (app, pilot):
        await pilot.press("down")
        await to_easel(app, pilot)
        assert app.room is (Room.RED if kind == "bw" else Room.NONE)
        check(app, "box")
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        check(app, "armed")
        await press(app, pilot, "question_mark")
        await until(pilot, lambda: isinstance(app.screen, Help) and bool(cells(app)))
        check(app, "help")
        await press(app, pilot, "enter")
        await to_light(app, pilot)
        await until(pilot, lambda: "LIGHT ON" in text_of(app, "area"))
        for _ in range(3):
            await pilot.pause(0.1)
            check(app, "lit")
        await pilot.press("space")
        await until(pilot, lambda: "missing" in text_of(app, "hands"))
        check(app, "paused")
        for _ in range(BLACK + 1):
            await press(app, pilot, "d")
            check(app, f"level {app.light.level}")
        app.notify("a toast that nobody should send", severity="error", title="toast")
        await pilot.pause(0.2)
        check(app, "toast")
        app.report("trouble with the notebook")
        await pilot.pause()
        check(app, "trouble")
        await pilot.resize_terminal(40, 15)
        await pilot.pause(0.1)
        check(app, "small")
        await press(app, pilot, "q")
        await until(pilot, lambda: "covered" in text_of(app, "next"))
        check(app, "over")


@pytest.mark.parametrize("kind", KINDS)
async def test_every_state_of_a_look(home: Path, witness: Witness, kind: str) -> None:
    """Into the box, by light while it is covered by the printer's word, and out of the box again."""
    recipe_in(home, kind)
    async with stage() as (app, pilot):
        await pilot.press("down")
        await to_easel(app, pilot)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        page = app.screen
        assert isinstance(page, Expose)
        await press(app, pilot, "c")
        await until(pilot, lambda: page.stage == "cover")
        check(app, "cover")
        for size in ((40, 15), (160, 50), (80, 24)):
            await pilot.resize_terminal(*size)
            await pilot.pause(0.1)
            check(app, f"cover {size}")
        page._dark_since -= 2.0
        await press(app, pilot, "c")
        await until(pilot, lambda: app.room is Room.WHITE)
        assert any(back == (0x70, 0x70, 0x70) for _, _, back in cells(app))  # a light to see by
        await press(app, pilot, "enter")
        await until(pilot, lambda: page.stage == "back")
        check(app, "back")
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in text_of(app, "area"))
        check(app, "armed again")
        assert witness.exposures_ns() == []


def _made(job: Job) -> RunRow:
    """A sheet of the notebook that ``job`` was."""
    plan = job.plan
    return RunRow(1, "2026-01-01", None, "finished", "", "print", plan.title, plan, job.text, "", 0, 0, None, plan.paper)


def _pages(job: Job) -> dict[str, Callable[[], Page]]:
    """Every page there is; some are not reached with paper out in the usual way, and must be safe all the same."""
    return {
        "prepare": Prepare,
        "notebook": NotebookPage,
        "negatives": Negatives,
        "lights": Lights,
        "reprint": lambda: Reprint(_made(job), job),
        "keys": Help,
        "baths": Baths,
        "unfinished": Unfinished,
        "look back": lambda: LookBack(StripChoice().job()),
        "look back at areas": lambda: _looked_back(job),
        "another size": lambda: ChangeRecipe(job),
        "recipe": lambda: EditRecipe(job, job.recipe or empty("")),
        "new recipe": lambda: EditRecipe(None, empty(job.plan.paper)),
        "correct": lambda: Correct(job),
        "areas": lambda: Outlines(job),
        "solve": lambda: Solve(job, 1),
        "solve a test": lambda: Solve(StripChoice(paper="ra4", made_for=job).job(), 1),
        "scan": lambda: ScanPage(job, 1),
        "test sheet": lambda: TestSheet(job),
        "to read": ToRead,
        "picture": lambda: Picture(job),
    }


def _looked_back(job: Job) -> LookBack:
    """A test of which two areas are read already, far apart: its rows, both ways and what is hard about them."""
    page = LookBack(StripChoice(made_for=job).job())
    page.places = page.places.added("window").added("wall").put(0, 8).put(1, 0)
    return page


@pytest.mark.parametrize("size", [(80, 24), (30, 10), (160, 50)])
@pytest.mark.parametrize("kind", KINDS)
async def test_every_page_with_paper_out(home: Path, kind: str, size: tuple[int, int]) -> None:
    job = load_job(recipe_in(home, kind))
    async with stage(size) as (app, pilot):
        assert app.open_box(kind)
        for name, page in _pages(job).items():
            await app.push_screen(page())
            await pilot.pause(0.1)
            await until(pilot, lambda: bool(cells(app)))  # on a busy machine it comes later
            check(app, name)
            for key in ("up", "down", "left", "right"):
                await pilot.press(key)
                await pilot.pause()
                check(app, f"{name} {key}")
            for key in ("v", "f", "d", "h", "a", "g", "u", "question_mark"):
                await press(app, pilot, key)
                check(app, f"{name} {key}")
            assert app.paper_out


def test_no_page_is_left_out(home: Path) -> None:
    there = {path.stem for path in (Path(__file__).parents[2] / "tui" / "screens").glob("*.py")} - {"__init__", "expose"}
    walked = {page().__module__.rpartition(".")[2] for page in _pages(load_job(recipe_in(home, "bw"))).values()}
    assert walked == there  # a run's own states are walked above


async def test_red_begins_dimmest_and_goes_round_by_black() -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "d")
        assert app.light.level == 0  # in white light it has nothing to dim
        app.open_box("bw")
        levels = []
        for _ in range(BLACK + 1):
            levels.append(app.light.level)
            await press(app, pilot, "d")
        assert levels == [0, 1, 2, 3, 4, BLACK]
        assert app.light.level == 0
        await press(app, pilot, "d", "d", "c")
        await until(pilot, lambda: app.room is Room.WHITE)
        app.open_box("bw")
        assert app.light.level == 2  # as it was wanted
        app.light.level = BLACK
        app.covered()
        app.open_box("bw")
        assert app.light.level == 0  # but never black without a word


async def test_where_red_cannot_be_dimmed_it_is_said_and_black_is_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("COLORTERM")
    async with stage() as (app, pilot):
        assert "cannot be dimmed" in text_of(app, "advice")
        app.open_box("bw")
        await press(app, pilot, "d")
        assert app.light.level == BLACK
        await press(app, pilot, "d")
        assert app.light.level == 0


async def test_white_comes_back_when_it_is_covered() -> None:
    async with stage() as (app, pilot):
        before = cells(app)
        app.open_box("bw")
        await pilot.pause(0.1)
        check(app, "red")
        await press(app, pilot, "c")
        await until(pilot, lambda: app.room is Room.WHITE)
        await until(pilot, lambda: "get ready" in next_action(app))
        after = cells(app)
        assert {front for _, front, _ in after} == {front for _, front, _ in before}


async def test_a_crash_with_paper_out_prints_nothing(home: Path, capfd: pytest.CaptureFixture[str]) -> None:
    app = LamphouseApp(shine=Shine(Path("/nonexistent")))
    with pytest.raises(ZeroDivisionError):
        async with app.run_test() as pilot:
            app.open_box("bw")
            await pilot.pause()
            app.call_later(lambda: 1 // 0)
            await pilot.pause(0.2)
    app.darkroom.close()
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


@pytest.mark.parametrize(
    ("kinds", "room"),
    [
        ([], Room.WHITE),
        (["bw"], Room.RED),
        (["ra4"], Room.NONE),
        (["pan"], Room.NONE),
        ([""], Room.NONE),
        (["bw", "ra4"], Room.NONE),
        (["bw", "bw"], Room.RED),
    ],
)
def test_red_is_only_for_papers_that_all_bear_it(kinds: list[str], room: Room) -> None:
    assert room_for([PaperOut(n, kind, "", None) for n, kind in enumerate(kinds)]) is room
    assert {"bw"} == SAFELIGHT_KINDS


@pytest.mark.parametrize("depth", DEPTHS)
@pytest.mark.parametrize("level", range(BLACK + 1))
def test_the_whole_terminal_goes_dark_and_back(depth: str, level: int) -> None:
    env = DEPTHS[depth]
    for room in (Room.RED, Room.NONE):
        model = Model(linux=depth == "linux")
        seen = Room.NONE if level == BLACK else room
        model.feed(terminal.going_dark(seen, red_of(level), env))
        assert model.is_dark(seen.value)
        model.must_be(seen.value)
        model.feed("\x1b[?1049l" + terminal.empty_page(seen, red_of(level), env))
        model.feed("\x1b[0m\x1b[32mgreen prompt\x1b[0m $ ")  # a shell's, in a theme's own colours
        assert model.faults == []
        model.room = ""
        model.feed(terminal.as_before(env))
        assert not model.is_dark("red")
    assert "\x07" not in terminal.going_dark(Room.RED, 0x66, env)


def test_the_leaving_colours_are_named_one_by_one() -> None:
    page = terminal.empty_page(Room.RED, 0x66, DEPTHS["truecolor"])
    assert page.startswith("\x1b[0;38;2;102;0;0;48;2;0;0;0m\x1b[2J")
    assert terminal.empty_page(Room.NONE, 0, DEPTHS["256"]).startswith("\x1b[0;38;5;16;48;5;16m\x1b[2J")


@pytest.mark.parametrize(
    ("environ", "depth"),
    [
        ({"TERM": "xterm-256color", "COLORTERM": "truecolor"}, terminal.Depth.ANY),
        ({"TERM": "xterm", "COLORTERM": "24bit"}, terminal.Depth.ANY),
        ({"TERM": "screen-256color"}, terminal.Depth.TABLE),
        ({"TERM": "xterm-kitty"}, terminal.Depth.TABLE),
        ({"TERM": "screen"}, terminal.Depth.PALETTE),
        ({"TERM": "dumb"}, terminal.Depth.NONE),
        ({}, terminal.Depth.NONE),
    ],
)
def test_how_many_colours_is_read_as_rich_reads_it(environ: dict[str, str], depth: terminal.Depth) -> None:
    from rich.console import Console

    assert terminal.depth_of(environ) is depth
    rich = {"truecolor": "any", "256": "256", "standard": "16", None: "none"}
    system = Console(force_terminal=True, _environ=environ).color_system
    assert rich[system] == depth.value or not environ


def test_backlight_and_leds_are_put_out_and_back(tmp_path: Path) -> None:
    light = tmp_path / "backlight" / "panel"
    led = tmp_path / "leds" / "ACT"
    for folder in (light, led):
        folder.mkdir(parents=True)
        (folder / "brightness").write_text("200")
    (light / "max_brightness").write_text("255\n")
    (light / "bl_power").write_text("0\n")
    (led / "trigger").write_text("none [mmc0] timer\n")
    shine = Shine(tmp_path)
    assert shine.lights() == ["ACT", "panel"]
    assert shine.can_put_out_panel
    shine.set(Room.NONE, 1.0)
    assert [(p / "brightness").read_text() for p in (light, led)] == ["0", "0"]
    assert (light / "bl_power").read_text() == "4"  # off, where a brightness of 0 may still glow
    assert (led / "trigger").read_text() == "none"
    shine.set(Room.RED, 0.2)
    assert (light / "brightness").read_text() == "25"
    assert (light / "bl_power").read_text() == "0"
    shine.set(Room.WHITE, 1.0)
    assert (light / "brightness").read_text() == "200"
    assert (led / "brightness").read_text() == "200"
    assert (led / "trigger").read_text() == "mmc0"
    assert Shine(tmp_path / "none").lights() == []
    assert not Shine(tmp_path / "none").can_put_out_panel


@pytest.mark.parametrize("term", ["xterm-mono", "screen-m", "vt100", "vt220", "vt100-am", "linux-m"])
def test_a_terminal_of_one_colour_is_refused(term: str) -> None:
    """terminfo has none of max_colors for these (infocmp -1 xterm-mono): what is called red there shows as their own."""
    assert terminal.depth_of({"TERM": term}) is terminal.depth_of({"TERM": term, "COLORTERM": "truecolor"})
    assert terminal.depth_of({"TERM": term}) is terminal.Depth.NONE


@pytest.mark.parametrize("term", ["xterm", "vte-256color", "vtnt", "tmux", "linux", "xterm-monokai"])
def test_others_are_not(term: str) -> None:
    assert terminal.depth_of({"TERM": term}) is not terminal.Depth.NONE
