"""Names as long as they may be, and of wide signs: what stands beside them keeps its place, and nothing is cut without a sign."""

from dataclasses import replace
from pathlib import Path
from textwrap import wrap

import pytest
from rich.cells import cell_len

from tests.tui.stage import next_action, press, screen_text, stage, text_of, to_easel, until
from timer.run.states import State
from tui.screens.edit_recipe import EditRecipe
from tui.screens.expose import Expose
from tui.screens.prepare import Prepare
from tui.widgets.lines import cut, fitted
from tui.widgets.run_view import RunView

LONG = "the wall behind the stair where the light of the lamp falls"
WIDE = "\u6f22\u5b57" * 25
RECIPE = """recipe = 1
title = "{title}"
base_s = 8.0
[paper]
kind = "bw"
[[dodge]]
area = "{area}"
stops = "1/3"
[[burn]]
area = "window"
stops = "2/3"
"""


@pytest.fixture(params=[LONG, WIDE], ids=["long", "wide"])
def recipe(home: Path, request: pytest.FixtureRequest) -> Path:
    path = home / "recipes" / "stair.toml"
    path.parent.mkdir()
    path.write_text(RECIPE.format(title=request.param, area=request.param))
    return path


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (160, 50)])
async def test_stops_and_seconds_stay_on_the_page(recipe: Path, size: tuple[int, int]) -> None:
    async with stage(size) as (app, pilot):
        await press(app, pilot, "down")
        await until(pilot, lambda: "dodge" in text_of(app, "plan"))
        # 8 s, of which a third of a stop less is 8 x (1 - 2^(-1/3)) = 1.65 s, and 2/3 more 8 x (2^(2/3) - 1) = 4.70 s
        await until(pilot, lambda: all(word in screen_text(app) for word in ("8.00 s", "-1/3", "1.65 s", "+2/3", "4.70 s")))
        await press(app, pilot, "e")
        await until(pilot, lambda: isinstance(app.screen, EditRecipe) and "1.65 s" in screen_text(app))
        rows = [line for line in text_of(app, "list").splitlines() if line.rstrip().endswith(" s")]
        assert len({cell_len(line.rstrip()) for line in rows}) == 1  # one column


@pytest.mark.parametrize("size", [(40, 15), (80, 24)])
async def test_the_state_stands_beside_a_long_area(recipe: Path, home: Path, size: tuple[int, int]) -> None:
    recipe.write_text(RECIPE.format(title="Stair", area="wall").replace("window", LONG))
    (home / "settings.toml").write_text("speech = false\nask = false\n")
    async with stage(size) as (app, pilot):
        await press(app, pilot, "down", "enter", "enter")
        await until(pilot, lambda: "it is in" in next_action(app))
        page = app.screen
        assert isinstance(page, Expose)
        await press(app, pilot, "enter")
        await until(pilot, lambda: "ready" in screen_text(app))
        run = page._run
        burn = next(n for n, step in enumerate(run.plan.steps) if step.do == "expose" and step.area == LONG)
        page.query_one(RunView).show_exposure(replace(run, step=burn, state=State.ARMED))
        area = text_of(app, "area")
        assert area.startswith("2/2  the wall") and area.endswith("…   ready") and cell_len(area) <= size[0]
        await press(app, pilot, "q")
        await until(pilot, lambda: "covered" in next_action(app))
        await press(app, pilot, "c")
        await until(pilot, lambda: isinstance(app.screen, Prepare))


async def test_how_it_ended_names_the_sheet_and_cuts_it_with_a_sign(home: Path, recipe: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, "down")
        await to_easel(app, pilot)
        await press(app, pilot, "q")
        await until(pilot, lambda: "covered" in next_action(app))
        assert text_of(app, "area").endswith("…") and cell_len(text_of(app, "area")) <= 30


@pytest.mark.parametrize("text", ["", "wall", LONG, WIDE, "a" + WIDE])
@pytest.mark.parametrize("width", [5, 8, 9, 22])
def test_cut_is_no_wider_and_fitted_is_as_wide(text: str, width: int) -> None:
    assert cell_len(cut(text, width)) <= width
    assert cell_len(fitted(text, width)) == width
    assert cut(text, width) == text or cut(text, width).endswith("…")
    assert fitted(text, width).rstrip() == cut(text, width).rstrip()


@pytest.mark.parametrize("keys", [("n",), ("n", "w"), ("n", "slash"), ("down", "e"), ("down", "e", "down"), ("down", "m", "right"),
                                  ("down", "b", "right"), ("down", "b", "right", "q"), ("down", "t"), ("down", "o"), ("z",), ("slash",),
                                  ("l",), ("down", "e", "n")])  # fmt: skip
@pytest.mark.parametrize("size", [(40, 15), (80, 24)])
async def test_no_foot_is_cut(home: Path, recipe: Path, size: tuple[int, int], keys: tuple[str, ...]) -> None:
    """Two rows, each whole: the next key and the others."""
    (home / "settings.toml").write_text("speech = false\nask = false\n")
    async with stage(size) as (app, pilot):
        await press(app, pilot, *keys)
        await pilot.pause(0.2)
        rows = [row for line in next_action(app).split("\n") for row in (wrap(line, size[0]) or [""])]
        assert len(rows) <= 2, rows
