"""What the page of a run writes: the checklist before it, its exposures as dots, the next act in a word or two."""


def checklist(items: list[str], at: int, *, together: int, width: int) -> list[str]:
    """``items`` numbered, with those before ``at`` done; the last ``together`` of them are one press.

    A narrow screen has what is so before the words, a wide one after them.
    """
    last = len(items) - together
    now = range(last, len(items)) if at >= last else range(at, at + 1)
    narrow = width < 72
    wide = max((len(item) for item in items), default=0)
    rows = []
    for n, item in enumerate(items):
        press = "▶ press when so" if n == now[-1] and not narrow else "▶"
        state = press if n in now else "done" if n < now[0] else ""
        wordy = f"{n + 1:3}  {item:{min(wide, width - 26)}}   {state}".rstrip()
        rows.append(f"{state:4} {n + 1} {item}" if narrow else wordy)
    return rows if narrow else "\n\n".join(rows).split("\n")


def dots(now: int, count: int, room: int) -> str:
    """Exposures done, at hand and to come; nothing where there are too many for ``room`` cells."""
    signs = ["●" if n < now else "◐" if n == now else "○" for n in range(count)]
    row = "  ".join(signs)
    return row if len(row) <= room else " ".join(signs) if 2 * count <= room else ""


def soon(says: str) -> str:
    """The next act without its tool, and without what is not an act: ``burn window (card)`` is ``burn window``."""
    return says.split(" (")[0].split("; ")[0].split(", ")[0]
