"""Pictures of the screens for the guide.

    python -m tests.tools.pictures docs/pictures

Every one is the running app on the simulated lamp, led there by its own keys, saved as SVG.
"""

import asyncio
import os
import sys
import tempfile
from fractions import Fraction
from functools import partial
from pathlib import Path

from tests.tui.stage import next_action, press, stage, text_of, to_easel, until
from timer.app.strip_choice import StripChoice
from tui.app import LamphouseApp
from tui.screens.look_back import LookBack


def _ready(app: LamphouseApp, patch: str) -> bool:
    area = text_of(app, "area")
    return area.startswith(patch) and "ready" in area


async def take(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    choice = StripChoice(seconds=2.0, step=Fraction(1, 3), patches=3)
    async with stage(choice=choice) as (app, pilot):

        def picture(name: str) -> None:
            (folder / f"{name}.svg").write_text(app.export_screenshot(title="Lamphouse"), encoding="utf-8")

        await pilot.pause(0.2)
        picture("prepare-strip")
        await pilot.press("down")
        await pilot.pause(0.2)
        picture("prepare-print")
        await press(app, pilot, "e", "down")
        await pilot.pause(0.2)
        picture("recipe")
        await press(app, pilot, "q")
        await until(pilot, lambda: "get ready" in next_action(app))
        await press(app, pilot, "up")
        await press(app, pilot, "enter")
        await until(pilot, lambda: "Enter: yes" in next_action(app))
        picture("question")
        await press(app, pilot, "q")
        await until(pilot, lambda: "get ready" in next_action(app))
        await to_easel(app, pilot)
        picture("paper-out")
        await press(app, pilot, "enter")
        for n in range(3):
            await until(pilot, partial(_ready, app, f"{n + 1}/3  "))
            if n == 1:
                picture("ready")
            await press(app, pilot, "enter")
            await until(pilot, lambda: "LIGHT ON" in text_of(app, "area"))
            if n == 0:
                await pilot.pause(0.9)
                picture("light")
        await until(pilot, lambda: "covered" in next_action(app))
        picture("covered")
        await press(app, pilot, "c")
        await until(pilot, lambda: isinstance(app.screen, LookBack))
        await pilot.press("right")
        await pilot.pause(0.2)
        picture("look-back")


def main() -> None:
    folder = Path(sys.argv[1]).absolute() if len(sys.argv) == 2 else None
    if folder is None:
        sys.exit("say where to: python -m tests.tools.pictures docs/pictures")
    with tempfile.TemporaryDirectory() as home:
        os.environ["LAMPHOUSE_HOME"] = home
        os.environ.update(TERM="xterm-256color", COLORTERM="truecolor")
        os.chdir(home)
        (Path(home) / "settings.toml").write_text("speech = false\n")
        asyncio.run(take(folder))
    print(f"{len(list(folder.glob('*.svg')))} pictures in {folder}")


if __name__ == "__main__":
    main()
