"""docs/states.md is what the reducer does."""

from pathlib import Path

from tests.tools.states_page import page, rows
from timer.run.states import OVER


def test_the_page_is_of_this_table() -> None:
    kept = Path(__file__).parents[2] / "docs" / "states.md"
    assert kept.read_text() == page(), "python -m tests.tools.states_page > docs/states.md"


def test_light_starts_from_armed_alone_and_nothing_leads_on_from_an_end() -> None:
    made = rows()
    assert {row[0] for row in made if "Fire" in row[2]} == {"ARMED"}
    assert {row[0] for row in made if "Arm" in row[2].split(", ")} == {"NOTING"}
    assert not {row[0] for row in made} & {state.name for state in OVER}
