"""Lines that keep their size."""

import textwrap
from collections.abc import Sequence

from rich.cells import cell_len, set_cell_size
from textual.widget import Widget
from textual.widgets import Static


def write(inside: Widget, name: str, text: str) -> None:
    """``text`` into the line ``name``; nothing is drawn for what stands there already."""
    line = inside.query_one(f"#{name}", Static)
    if line.content != text:
        line.update(text, layout=False)


def cut(text: str, width: int) -> str:
    """``text`` in ``width`` cells at most, of which a wide sign takes two; what is longer ends in an ellipsis."""
    return text if cell_len(text) <= width else f"{set_cell_size(text, width - 1).rstrip()}…"


def fitted(text: str, width: int) -> str:
    """``text`` in exactly ``width`` cells, so that what stands behind it has its column."""
    return set_cell_size(cut(text, width), width)


def lines_of(text: str, width: int) -> int:
    """How many rows ``text``, one line of words, takes at ``width``."""
    return max(1, len(textwrap.wrap(text, max(1, width))))


def shortened(rows: Sequence[str], most: int) -> list[str]:
    """The first of ``rows``, ``most`` in all with a last one that says how many more there are."""
    if len(rows) <= most:
        return list(rows)
    shown = max(0, most - 1)
    return [*rows[:shown], f"… and {len(rows) - shown} more"]


def whole(sentences: Sequence[str], width: int, height: int) -> list[str]:
    """As many of ``sentences`` as are whole in ``height`` rows of ``width``, and how many are left; the first always."""
    used, shown = 0, 0
    for n, sentence in enumerate(sentences):
        used += lines_of(sentence, width)
        last = n == len(sentences) - 1
        if n and used + (not last) > height:
            break
        shown = n + 1
    left = len(sentences) - shown
    return [*sentences[:shown], *([f"… and {left} more"] if left else [])]
