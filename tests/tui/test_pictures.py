"""A handful of snapshots: that the pages look as they did. ``pytest --snapshot-update`` after looking at them."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from textual.pilot import Pilot

from tests.tui.stage import cells, press, text_of, to_easel, until
from timer.app.strip_choice import StripChoice
from tui.app import LamphouseApp
from tui.page import TALL
from tui.shine import Shine

Compare = Callable[..., bool]


async def prepare(pilot: Pilot[int]) -> None:
    await until(pilot, lambda: "get ready" in text_of(_app(pilot), "next"))
    if pilot.app.size.height >= TALL:  # then the sheet is drawn, and its tones come a little later
        await until(pilot, lambda: any(back[0] > 96 for _, _, back in cells(_app(pilot))))


async def prepare_print(pilot: Pilot[int]) -> None:
    await prepare(pilot)
    await pilot.press("down")


async def armed(pilot: Pilot[int]) -> None:
    await prepare(pilot)
    await to_easel(_app(pilot), pilot)
    await press(_app(pilot), pilot, "enter")
    await until(pilot, lambda: "ready" in text_of(_app(pilot), "area"))


async def help_page(pilot: Pilot[int]) -> None:
    await prepare(pilot)
    await press(_app(pilot), pilot, "question_mark")
    await pilot.pause(0.1)


def _app(pilot: Pilot[int]) -> LamphouseApp:
    assert isinstance(pilot.app, LamphouseApp)
    return pilot.app


@pytest.mark.parametrize("lead", [prepare, prepare_print, armed, help_page])
@pytest.mark.parametrize("size", [(80, 24), (40, 15)])
def test_pages(snap_compare: Compare, home: Path, lead: Callable[..., None], size: tuple[int, int]) -> None:
    app = LamphouseApp(shine=Shine(Path("/nonexistent")))
    app.choice = StripChoice(seconds=8.0, step=Fraction(1, 3), patches=5)
    try:
        assert snap_compare(app, run_before=lead, terminal_size=size)
    finally:
        app.sound.close()
        app.darkroom.close()
