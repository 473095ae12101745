"""The keys can all be read, on any screen."""

import pytest

from tests.tui.stage import next_action, press, screen_text, stage, text_of, until
from tui.page import KEYS_HELP
from tui.screens.help import Help
from tui.screens.prepare import Prepare


@pytest.mark.parametrize("size", [(40, 15), (80, 24), (160, 50)])
async def test_every_key_can_be_read(size: tuple[int, int]) -> None:
    async with stage(size) as (app, pilot):
        await press(app, pilot, "question_mark")
        await until(pilot, lambda: isinstance(app.screen, Help) and text_of(app, "list") != "")
        seen: set[str] = set()
        for _ in range(60):
            shown = screen_text(app)
            seen |= {line.strip() for line in text_of(app, "list").splitlines() if line in shown}
            await press(app, pilot, "down")
        read = "\n".join(seen)
        for key, what in KEYS_HELP:
            assert any(line.startswith(key) for line in seen), key
            assert all(word in read for word in what.split()), what
        assert ("up down: more" in next_action(app)) == (size[1] < 24)
        assert "that key is called down" in next_action(app)
        await press(app, pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, Prepare))
