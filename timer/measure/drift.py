"""The control patch of every session, from the notebook: the standard negative at its own setting."""

from collections import Counter
from dataclasses import dataclass

from timer.craft import heads
from timer.craft.control import Three, Verdict, aim_from, trends, verdict
from timer.documents.reading import Kind
from timer.documents.settings import Head
from timer.errors import LamphouseError, Refused
from timer.measure.sheet import PATCH, WHOLE, Given, Sheet, at_place, given, three
from timer.notebook import columns
from timer.notebook.readings import readings as kept
from timer.notebook.store import Notebook

CONTROL = "control"
"""The name of the standard negative where it is not said."""
MOST = 1000
"""Sheets of it that are looked at, the newest."""
SAME_TIME = 0.01
"""Share by which times may differ that count as one setting."""


@dataclass(frozen=True)
class Session:
    """A sheet of the control patch: its densities as they were read, and how they stand."""

    run: int
    begun: str
    density: Three
    verdict: Verdict


@dataclass(frozen=True)
class Drift:
    """``sessions`` of negative ``name`` at one setting, oldest first, read with ``kind``.

    ``aim_said``: their ``aim`` is no mean of the first ones. ``trends`` in words. ``left_out``: sheets at another setting,
    or read with another kind.
    """

    name: str
    setting: str
    seconds: float
    kind: Kind
    aim: Three
    aim_said: bool
    sessions: tuple[Session, ...]
    trends: tuple[str, ...]
    left_out: tuple[int, ...]


def drift(notebook: Notebook, name: str, mine: Head, aim: Three | None = None, since: int = 0) -> Drift:
    """The sessions of control negative ``name``, at the setting and by the instrument that most of them have, from sheet
    ``since`` on. Refused when there is none."""
    found = [each for row in _rows(notebook, name, since) for each in _patches(notebook, row, mine)]
    if not found:
        raise Refused(
            f"no sheet of a negative called {name!r} has readings: print it at one setting every session, name it with "
            f"`lamphouse notebook write RUN --negative {name!r}`, and take its densities in"
        )
    setting, seconds, kind = _usual(found)
    by_run: dict[int, list[_Patch]] = {}
    for each in found:
        if (each.setting, each.kind) == (setting, kind) and abs(each.seconds / seconds - 1) <= SAME_TIME:
            by_run.setdefault(each.run, []).append(each)
    means = [(patches[0], _mean([each.density for each in patches])) for patches in by_run.values()]
    target = aim or aim_from([density for _, density in means])
    sessions = tuple(Session(first.run, first.begun, density, verdict(density, target)) for first, density in means)
    left = tuple(dict.fromkeys(each.run for each in found if each.run not in by_run))
    moving = tuple(trends([each.density for each in sessions]))
    return Drift(name, setting, seconds, kind, target, aim is not None, sessions, moving, left)


@dataclass(frozen=True)
class _Patch:
    run: int
    begun: str
    setting: str
    seconds: float
    kind: Kind
    density: Three


def _rows(notebook: Notebook, name: str, since: int) -> list[dict[str, object]]:
    sql = (
        "SELECT run, begun, negative FROM sheet WHERE lower(negative) = lower(?) AND run >= ?"
        " AND run IN (SELECT run FROM reading) ORDER BY run DESC LIMIT ?"
    )
    return [columns.read("sheet", row) for row in notebook.read(sql, (name, since, MOST))][::-1]


def _patches(notebook: Notebook, row: dict[str, object], mine: Head) -> list[_Patch]:
    """Every reading of one sheet with what its patch was given; nothing of a sheet that is not known well."""
    try:
        run = notebook.run(int(str(row["run"])))
        lights = tuple(given(run, notebook.exposures(run.id), mine.per_stop))
        sheet = at_place(Sheet(run.id, lights, tuple(kept(notebook, run.id))))
        by_patch = {each.patch: each for each in lights}
        return [
            _Patch(run.id, str(row["begun"]), heads.text_of(one.setting), one.seconds, read.kind, three(read, run.id))
            for read in sheet.read
            if read.kind != "eye" and (one := _given(by_patch, read.sample)) and one.seconds > 0
        ]
    except LamphouseError:
        return []


def _given(by_patch: dict[int, Given], sample: str) -> Given | None:
    found = PATCH.fullmatch(sample)
    if sample.lower() == "aim":
        return None
    return by_patch.get(WHOLE) or (by_patch.get(int(found[1])) if found else None)


def _usual(found: list[_Patch]) -> tuple[str, float, Kind]:
    """Setting, time and instrument that most of the sheets have; of as many, the newest."""
    counted = Counter((each.setting, round(each.seconds, 1), each.kind) for each in found)
    most = max(counted.values())
    last = next(e for e in reversed(found) if counted[e.setting, round(e.seconds, 1), e.kind] == most)
    return last.setting, last.seconds, last.kind


def _mean(densities: list[Three]) -> Three:
    red, green, blue = (sum(each[n] for each in densities) / len(densities) for n in range(3))
    return red, green, blue
