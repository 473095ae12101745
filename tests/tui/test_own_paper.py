"""The picture of a sheet on the screen: the printer's own paper in it, said."""

from pathlib import Path

from tests.conftest import write_recipe
from tests.tui.stage import press, stage, text_of, until
from timer.documents.paper_curves import KeptCurve, curves_file, keep_curve
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
        await until(pilot, lambda: isinstance(app.screen, Picture) and "paper-curves.toml: x: unknown key" in app.trouble)
