"""Every check in this folder names its source: author, title, and page (or the address of the page that was read)."""

from pathlib import Path

import pytest

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if HERE not in item.path.parents:
            continue
        marks = list(item.iter_markers("published"))
        if not marks or not all(mark.kwargs.get(key) for mark in marks for key in ("author", "title", "page")):
            raise pytest.UsageError(
                f"{item.nodeid}: a published value needs @published(author, title, page); what is our own choice belongs "
                "to tests/craft"
            )
