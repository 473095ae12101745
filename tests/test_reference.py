"""The documents hang together: every module of a room is in docs/reference, and every link leads somewhere."""

import re
from pathlib import Path

import pytest

from tests.tools.reference import ROOMS, page

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize("room", ROOMS)
def test_every_module_is_in_the_reference(room: str) -> None:
    kept = (ROOT / "docs" / "reference" / f"{room}.md").read_text()
    assert kept == page(room), "python -m tests.tools.reference"


PAGES = [
    *ROOT.glob("*.md"),
    *(ROOT / "docs").rglob("*.md"),
    *(ROOT / "hardware").rglob("*.md"),
    *(ROOT / "tests").rglob("*.md"),
]


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_link_leads_somewhere(path: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", path.read_text()):
        if not re.match(r"[a-z]+:", target):
            assert (path.parent / target).exists(), target


def anchors(text: str) -> set[str]:
    """What the headings of a page can be reached by, as the forge and the site make it of their words."""
    headings = re.findall(r"^#+ (.*)$", re.sub(r"^```.*?^```", "", text, flags=re.DOTALL | re.MULTILINE), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).strip().replace(" ", "-") for heading in headings}


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_link_into_a_page_finds_its_heading(path: Path) -> None:
    for target, anchor in re.findall(r"\]\(([^)#:]*)#([^)]+)\)", path.read_text()):
        page_of = path.parent / target if target else path
        assert anchor in anchors(page_of.read_text()), f"{target}#{anchor}"
