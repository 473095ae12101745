"""The picture of a sheet on the screen: the printer's own paper in it, said."""

from pathlib import Path

from tests.conftest import write_recipe
from tests.tui.stage import press, stage, text_of, until
from timer.documents.paper_curves import KeptCurve
from timer.documents.paper_curves_file import curves_file, keep_curve
from tui.screens.change_recipe import ChangeRecipe
from tui.screens.picture import Picture


async def test_the_picture_says_whose_paper_it_is(home: Path) -> None:
    path = write_recipe(home / "recipes" / "good.toml", "Gate")
    path.write_text(path.read_text().replace('kind = "bw"', 'kind = "bw"\nname = "Matt"'))
    x, d = (-0.3, 0.0, 0.3, 0.6, 0.9, 1.2), (0.06, 0.08, 0.3, 1.1, 1.9, 2.0)
    keep_curve(curves_file(), KeptCurve(paper="matt", log_exposure=x, density=d, base=0.06, darkest=2.0))
    async with stage(size=(100, 30)) as (app, pilot):
        await press(app, pilot, "down", "i")
        await until(pilot, lambda: isinstance(app.screen, Picture) and "own curve of matt" in text_of(app, "next"))
        assert "Enter: back; paper: your own curve of matt, R" in text_of(app, "next")
        await press(app, pilot, "q")
        curves_file().write_text("x = 1")
        await press(app, pilot, "i")
        await until(
            pilot, lambda: isinstance(app.screen, Picture) and "paper-curves.toml: x: unknown key" in app.said.trouble
        )


async def test_another_grade_takes_the_time_that_was_measured(home: Path) -> None:
    path = write_recipe(home / "recipes" / "good.toml", "Gate")
    text = path.read_text().replace('kind = "bw"', 'kind = "bw"\nname = "Matt"')
    path.write_text(text + '[enlargement]\nframe = "6x7"\nsheet = "18x24cm"\naperture = 8\n[filters]\ngrade = "3"\n')
    x, d = (-0.3, 0.0, 0.3, 0.6, 0.9, 1.2), (0.06, 0.08, 0.3, 1.1, 1.9, 2.0)
    for grade, later in (("3", 0.0), ("3 1/2", 0.1)):
        more = tuple(one + later for one in x)
        kept = KeptCurve(
            paper="Matt", grade=grade, log_exposure=more, density=d, base=0.06, darkest=2.0, set_up="tablet, 18x24cm, f/8"
        )
        keep_curve(curves_file(), kept)
    async with stage(size=(100, 30)) as (app, pilot):
        await press(app, pilot, "down", "m")
        await until(pilot, lambda: isinstance(app.screen, ChangeRecipe))
        await pilot.press("down", "down", "right")
        await until(pilot, lambda: "grade 3 to 3 1/2: x 1.259 (as you measured it)" in text_of(app, "list"))
