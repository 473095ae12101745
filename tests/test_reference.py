"""The documents hang together: every module of a room is in docs/reference, and every link leads somewhere."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize("room", ["craft", "documents", "plans", "notebook", "run", "app"])
def test_every_module_is_in_the_reference(room: str) -> None:
    there = {f"timer.{room}.{path.stem}" for path in (ROOT / "timer" / room).glob("*.py")} - {f"timer.{room}.__init__"}
    listed = set(re.findall(r"^::: (\S+)$", (ROOT / "docs" / "reference" / f"{room}.md").read_text(), re.M))
    assert listed == there


PAGES = [
    *ROOT.glob("*.md"),
    *(ROOT / "docs").rglob("*.md"),
    *(ROOT / "hardware").rglob("*.md"),
    *(ROOT / "tests").rglob("*.md"),
]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_leads_somewhere(page: Path) -> None:
    text = re.sub(r"^```.*?^```$", "", page.read_text(), flags=re.S | re.M)
    for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", text):
        if not re.match(r"[a-z]+:", target):
            assert (page.parent / target).exists(), target
