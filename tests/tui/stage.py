"""An app on a stage: its own home, Pilot, bounded waits, and a look at every cell."""

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from fractions import Fraction
from functools import partial
from pathlib import Path

from textual.pilot import Pilot
from textual.widgets import Static

from timer.app.strip_choice import StripChoice
from tui.app import LamphouseApp
from tui.screens.expose import Expose
from tui.shine import Shine

QUICK = StripChoice(seconds=0.25, step=Fraction(1, 2), patches=2)


@asynccontextmanager
async def stage(
    size: tuple[int, int] = (80, 24), choice: StripChoice = QUICK
) -> AsyncIterator[tuple[LamphouseApp, Pilot[int]]]:
    app = LamphouseApp(shine=Shine(Path("/nonexistent")))
    app.choice = choice
    try:
        async with app.run_test(size=size, notifications=True) as pilot:
            await until(pilot, lambda: "Enter" in next_action(app) or app.paper_out)
            yield app, pilot
    finally:
        app.sound.close()
        app.darkroom.close()


async def press(app: LamphouseApp, pilot: Pilot[int], *keys: str) -> None:
    """Each of ``keys`` pressed and let go, as after a long rest."""
    for key in keys:
        app.keys.forget()
        await pilot.press(key)
        await until(pilot, lambda: app.keys.settled and bool(cells(app)))  # a page that has just come has none yet


async def until(pilot: Pilot[int], true: Callable[[], bool], seconds: float = 8.0) -> None:
    """Wait until ``true``, a bounded number of short turns."""
    for _ in range(int(seconds / 0.02)):
        if true():
            return
        await pilot.pause(0.02)
    raise AssertionError(f"never came, on {pilot.app.screen}: {screen_text(pilot.app)}")


def text_of(app: LamphouseApp, name: str) -> str:
    found = app.screen.query(f"#{name}")
    return str(found.first(Static).content) if found else ""


def next_action(app: LamphouseApp) -> str:
    return text_of(app, "next")


def cells(app: LamphouseApp) -> list[tuple[str, tuple[int, int, int], tuple[int, int, int]]]:
    """Every cell as it would be written: character, front and back colour."""
    out = []
    for strip in app.screen._compositor.render_strips():
        for text, style, _ in strip:
            front = style.color.get_truecolor() if style and style.color else (255, 255, 255)
            back = style.bgcolor.get_truecolor() if style and style.bgcolor else (255, 255, 255)
            if style and style.reverse:
                front, back = back, front
            out += [(char, (front[0], front[1], front[2]), (back[0], back[1], back[2])) for char in text]
    return out


def screen_text(app: object) -> str:
    assert isinstance(app, LamphouseApp)
    return "\n".join("".join(s.text for s in strip) for strip in app.screen._compositor.render_strips())


def _asks(app: LamphouseApp, left: int) -> bool:
    return "Enter: yes" in next_action(app) and isinstance(app.screen, Expose) and len(app.screen._asked) == left


async def to_easel(app: LamphouseApp, pilot: Pilot[int]) -> None:
    """Through the questions and the dark to the open box."""
    await press(app, pilot, "enter")
    for n in range(3):
        await until(pilot, partial(_asks, app, 3 - n))
        await press(app, pilot, "enter")
    await until(pilot, lambda: "screen goes" in next_action(app))
    assert not app.paper_out
    await press(app, pilot, "enter")
    await until(pilot, lambda: "it is in" in next_action(app))
    assert app.paper_out


async def to_light(app: LamphouseApp, pilot: Pilot[int], *, number: str = "") -> None:
    """From the sheet in the easel, or the light before, to light."""
    if "it is in" in next_action(app):
        await press(app, pilot, "enter")
    await until(pilot, lambda: text_of(app, "area").startswith(number) and "ready" in text_of(app, "area"))
    await press(app, pilot, "enter")


def recipe_in(home: Path, kind: str = "bw") -> Path:
    path = home / "recipes" / "gate.toml"
    path.parent.mkdir()
    path.write_text(
        f"""
recipe = 1
title = "Gate in the rain"
base_s = 2.0  # from the strip of the day
[paper]
kind = "{kind}"
[[dodge]]
area = "gate"
stops = "1/3"
[[burn]]
area = "sky"
stops = "1/2"
"""
    )
    return path
