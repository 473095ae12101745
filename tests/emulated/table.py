"""What came out: one row a thing that must hold, on one board."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from tests.emulated.says import say

Verdict = Literal["holds", "FAILS", "told"]
CELL = 64
"""Characters of a figure in the table; the log and --json have all of it."""


@dataclass(frozen=True)
class Row:
    """``told``: a figure that is written down and not judged, because no software decides it."""

    board: str
    case: str
    what: str
    verdict: Verdict
    figure: str
    ms: float | None = None
    bar_ms: float | None = None


def judge(board: str, case: str, what: str, holds: bool, figure: str) -> Row:
    return Row(board, case, what, "holds" if holds else "FAILS", figure)


def judge_ms(board: str, case: str, what: str, ms: float | None, bar_ms: float) -> Row:
    """``ms`` from a mark to the dark, None if it did not come."""
    figure = "never dark" if ms is None else f"{ms:.0f} ms"
    return Row(board, case, what, "holds" if ms is not None and ms <= bar_ms else "FAILS", figure, ms, bar_ms)


def tell(row: Row) -> None:
    bar = f" (bar {row.bar_ms:.0f} ms)" if row.bar_ms else ""
    say(f"{row.board:18} {row.verdict:5}  {row.case}: {row.what}: {row.figure}{bar}")


def as_text(rows: Sequence[Row]) -> str:
    """The table, a block for each case, boards side by side."""
    lines = []
    for case in dict.fromkeys(row.case for row in rows):
        mine = [row for row in rows if row.case == case]
        boards = list(dict.fromkeys(row.board for row in mine))
        first = max(len(case), *(len(row.what) + 2 for row in mine))
        width = {b: max(len(b), *(len(_cell(row)) for row in mine if row.board == b)) for b in boards}
        lines += ["", f"{case:{first}}  {'  '.join(f'{b:{width[b]}}' for b in boards)}  bar"]
        for what in dict.fromkeys(row.what for row in mine):
            found = {row.board: row for row in mine if row.what == what}
            cells = "  ".join(f"{_cell(found[b]) if b in found else '-':{width[b]}}" for b in boards)
            bar = next((f"{row.bar_ms:.0f} ms" for row in found.values() if row.bar_ms), "")
            lines.append(f"  {what:{first - 2}}  {cells}  {bar}".rstrip())
    return "\n".join(lines)


def _cell(row: Row) -> str:
    text = " ".join(row.figure.split())
    text = text if len(text) <= CELL or row.verdict == "FAILS" else f"{text[: CELL - 3]}..."
    return text if row.verdict == "holds" else f"{row.verdict}: {text}"


def summary(rows: Iterable[Row]) -> tuple[int, int]:
    """How many hold, how many fail."""
    verdicts = [row.verdict for row in rows]
    return verdicts.count("holds"), verdicts.count("FAILS")


def write_json(rows: Sequence[Row], path: Path) -> None:
    path.write_text(json.dumps([asdict(row) for row in rows], indent=1) + "\n")
