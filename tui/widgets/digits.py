"""Seconds in digits big enough for 1.5 m: five rows at the least, more where there is room."""

from textual.widgets import Static

_FONT = {
    "0": ("███", "█ █", "█ █", "█ █", "███"),
    "1": (" █ ", "██ ", " █ ", " █ ", "███"),
    "2": ("███", "  █", "███", "█  ", "███"),
    "3": ("███", "  █", " ██", "  █", "███"),
    "4": ("█ █", "█ █", "███", "  █", "  █"),
    "5": ("███", "█  ", "███", "  █", "███"),
    "6": ("███", "█  ", "███", "█ █", "███"),
    "7": ("███", "  █", "  █", " █ ", " █ "),
    "8": ("███", "█ █", "███", "█ █", "███"),
    "9": ("███", "█ █", "███", "  █", "███"),
    ".": (" ", " ", " ", " ", "█"),
    "-": ("   ", "   ", "███", "   ", "   "),
}


def big(text: str, width: int, height: int) -> str:
    """``text`` (digits, dot, dash) as block rows, as large as fits ``width`` by ``height``, never under 5 rows."""
    cells = sum(len(_FONT[c][0]) for c in text) + len(text) - 1
    tall = max(1, min(height // 5, width // max(1, 2 * cells) if width >= 2 * cells else 1, 3))
    wide = max(1, min(2 * tall, width // max(1, cells)))
    rows = []
    for row in range(5):
        line = " ".join(_FONT[c][row] for c in text)
        rows += ["".join(cell * wide for cell in line).rstrip()] * tall
    longest = max((len(r) for r in rows), default=0)
    return "\n".join(row.ljust(longest) for row in rows)


class BigSeconds(Static):
    """Shows seconds with one decimal."""

    def show(self, seconds: float) -> None:
        """``seconds`` to a tenth, not below zero."""
        self.update(big(f"{max(0.0, seconds):.1f}", self.size.width or 40, self.size.height or 5))

    def blank(self) -> None:
        """Nothing is shown."""
        self.update("")
