"""What may shine is listed once, and the page and the documents agree."""

from pathlib import Path

from tests.tui.stage import press, screen_text, stage, text_of, until
from tui.screens.lights import COIN_TEST, THINGS, Lights

DOCS = Path(__file__).parents[2] / "docs"


def test_the_page_and_the_safety_document_agree() -> None:
    safety = (DOCS / "safety.md").read_text()
    assert [thing for thing in THINGS if f"  - {thing}" not in safety] == []


def test_the_guide_has_the_coin_test_with_the_same_times() -> None:
    guide = " ".join((DOCS / "guide.md").read_text().split())
    assert "after 2 minutes, again after 4 and after 8" in guide
    assert "after 2 minutes move the coin along; again after 4 and after 8" in " ".join(COIN_TEST)
    for text in (guide, " ".join(COIN_TEST)):
        assert "twice the longest time that your paper lies out" in text


async def test_every_line_can_be_reached_on_a_small_screen() -> None:
    async with stage((40, 15)) as (app, pilot):
        await press(app, pilot, "l")
        await until(pilot, lambda: isinstance(app.screen, Lights))
        assert "in the dark is heard: NOTHING" in text_of(app, "list")
        for _ in range(25):
            await pilot.press("down")
        await until(pilot, lambda: "else cover the screen" in " ".join(screen_text(app).split()))
