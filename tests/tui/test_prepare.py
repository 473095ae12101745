"""The first page: a strip's time typed, a print's template written."""

from pathlib import Path

import pytest

from tests.tui.stage import next_action, press, recipe_in, stage, text_of, until
from tui.screens.expose import Expose


async def test_a_strips_first_time_is_typed(home: Path) -> None:
    async with stage() as (app, pilot):
        await press(app, pilot, *"3.5")
        assert "3.5_" in next_action(app)
        await press(app, pilot, "enter")
        assert app.choice.seconds == 3.5 and "from 3.5 s" in text_of(app, "choice")
        assert not isinstance(app.screen, Expose)  # Enter was the line's
        for wrong in ("500", "1..2"):
            await press(app, pilot, *wrong, "enter")
            assert app.choice.seconds == 3.5
            assert wrong in app.trouble
        await press(app, pilot, "7", "escape")
        assert app.choice.seconds == 3.5


@pytest.mark.parametrize("sheet", ["18x24cm", ""])
async def test_a_prints_template_is_written_and_said_where(home: Path, sheet: str) -> None:
    path = recipe_in(home)
    if sheet:
        path.write_text(path.read_text().replace("[[dodge]]", f'[enlargement]\nsheet = "{sheet}"\n[[dodge]]', 1))
    async with stage((80, 30)) as (app, pilot):
        await press(app, pilot, "down", "p")
        if not sheet:
            assert "n in the row sheet" in app.trouble
            assert list(path.parent.glob("*.pdf")) == []
            return
        await until(pilot, lambda: "gate-template.pdf" in text_of(app, "advice"))
        assert (path.parent / "gate-template.pdf").read_bytes().startswith(b"%PDF")
        await press(app, pilot, "p")
        await until(pilot, lambda: "gate-template-2.pdf" in text_of(app, "advice"))
