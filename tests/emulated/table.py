"""What came out: one row a thing that must hold, on one board."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from tests.emulated.says import say

Verdict = Literal["holds", "FAILS", "told"]


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
    boards = list(dict.fromkeys(row.board for row in rows))
    lines = []
    cell = {(r.case, r.what, r.board): f"{'' if r.verdict == 'holds' else r.verdict + ': '}{r.figure}" for r in rows}
    bars = {(r.case, r.what): r.bar_ms for r in rows if r.bar_ms}
    width = {b: max([len(b), *(len(text) for (_, _, board), text in cell.items() if board == b)]) for b in boards}
    first = max((len(row.what) for row in rows), default=0) + 2
    for case in dict.fromkeys(row.case for row in rows):
        lines += ["", f"{case:{first}}  {'  '.join(f'{b:{width[b]}}' for b in boards)}  bar"]
        for what in dict.fromkeys(row.what for row in rows if row.case == case):
            cells = "  ".join(f"{cell.get((case, what, b), '-'):{width[b]}}" for b in boards)
            bar = bars.get((case, what))
            lines.append(f"  {what:{first - 2}}  {cells}  {f'{bar:.0f} ms' if bar else ''}".rstrip())
    return "\n".join(lines)


def summary(rows: Iterable[Row]) -> tuple[int, int]:
    """How many hold, how many fail."""
    verdicts = [row.verdict for row in rows]
    return verdicts.count("holds"), verdicts.count("FAILS")


def write_json(rows: Sequence[Row], path: Path) -> None:
    path.write_text(json.dumps([asdict(row) for row in rows], indent=1) + "\n")
