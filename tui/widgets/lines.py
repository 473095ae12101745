"""Lines that keep their size."""

from textual.widget import Widget
from textual.widgets import Static


def write(inside: Widget, name: str, text: str) -> None:
    """``text`` into the line ``name``; nothing is drawn for what stands there already."""
    line = inside.query_one(f"#{name}", Static)
    if line.content != text:
        line.update(text, layout=False)
