"""The screen on a damaged notebook and damaged recipes: every page is opened, and none of them ends the program."""

import asyncio
from pathlib import Path

from textual.widgets import Static

from timer.errors import LamphouseError
from timer.text import UNFIT
from tui.app import LamphouseApp
from tui.shine import Shine

KEYS = (
    "down", "down", "down", "down", "m", "q", "b", "q", "t", "q", "up", "r", "q", "q", "n", "down", "down", "equals_sign", "up",
    "up", "1", "slash", "s", "enter", "enter", "z", "right", "a", "q", "c", "question_mark", "q", "l", "q", "v", "d",
)  # fmt: skip


def faults_of_screen() -> list[str]:
    """What is wrong after all those keys; empty when every page was shown, or one sentence at the start."""
    try:
        app = LamphouseApp(shine=Shine(Path("/nonexistent")))
    except LamphouseError:
        return []  # one sentence, and no screen: the file is no notebook any more
    app.warm = lambda: None  # type: ignore[method-assign]
    try:
        return asyncio.run(_through(app))
    except BaseException as error:
        return [f"the screen ended: {error!r}"]
    finally:
        app.sound.close()
        app.darkroom.close()


async def _through(app: LamphouseApp) -> list[str]:
    found = []
    async with app.run_test(size=(100, 30)) as pilot:
        for key in KEYS:
            await pilot.press(key)
            shown = "\n".join("".join(s.text for s in strip) for strip in app.screen._compositor.render_strips())
            if UNFIT.search(shown.replace("\n", "")):
                found.append(f"what acts on a terminal, after {key}")
            if not app.screen.query(Static):
                found.append(f"an empty page after {key}")
    return found
