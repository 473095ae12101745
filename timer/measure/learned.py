"""What the notebook's own sheets have taught of a head and a paper: found anew each time, so that nothing goes stale."""

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from timer.craft import heads
from timer.craft.learn import Learned, Lesson, learn
from timer.craft.lights import COLOURS, Lights
from timer.documents.calibrations_file import forgotten_since
from timer.documents.reading import Kind
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe
from timer.documents.settings import Head
from timer.errors import LamphouseError
from timer.measure.sheet import GREY_CARD, Sheet, aim_of, at_place, given, readings
from timer.notebook import columns
from timer.notebook.readings import readings as kept
from timer.notebook.rows import RunRow
from timer.notebook.store import Notebook

MOST = 24
"""Sheets that count, the newest: what is older has faded, and solving stays quick."""
LOOKED_AT = 400
"""Sheets with readings that are looked at for them."""
KINDS: tuple[Kind, ...] = ("", "scan", "colorimeter")
"""What a head and a paper are learned by, each by itself, since its bands are its own. An eye teaches too little."""
NO_NAME = "colour paper"
"""A paper that has no name in the notebook."""
_AFTER = re.compile(r"(?:after )?test sheet (\d+)")


@dataclass(frozen=True)
class Which:
    """A head (its kind), a paper and its box as they are written, empty where they are not; ``kind``: read with what;
    ``named``: the printer's name of the head, in small letters."""

    head: str
    paper: str = ""
    box: str = ""
    kind: Kind = ""
    named: str = ""

    @property
    def name(self) -> str:
        """Head and paper, as they are shown and forgotten."""
        return name_of(" ".join(filter(None, (self.head, self.named))), self.paper)


def name_of(head: str, paper: str) -> str:
    """``dichroic on colour paper``: what was learned, by the name that it is forgotten by."""
    return f"{head} on {paper or NO_NAME}"


@dataclass(frozen=True)
class Old:
    """A sheet of the notebook with readings. ``negative``: what it shares with others of one negative as the enlarger
    stood, on one day."""

    which: Which
    negative: tuple[Any, ...]
    sheet: Sheet


def old_sheets(
    notebook: Notebook, mine: Head, kind: Kind, forgotten: Mapping[str, str], head: str = "", without: Iterable[int] = ()
) -> list[Old]:
    """Sheets that can teach, read with ``kind``, oldest first, the newest ``MOST`` of them; of one ``head`` if it is named.

    Left out are ``without``, what was ``forgotten`` since (a time by ``name_of``), and every sheet whose light or readings
    are not known well.
    """
    found: list[Old] = []
    for row in _rows(notebook, kind):
        if row["run"] in without:
            continue
        try:
            one = _old(notebook, row, mine, kind)
        except LamphouseError:
            continue
        fresh = not one or _after(str(row["begun"]), forgotten.get(one.which.name))
        if one and fresh and head in ("", one.which.head):
            found.append(one)
        if len(found) == MOST:
            break
    return found[::-1]


def known(old: Sequence[Old], which: Which, sign: int = 1) -> Learned | None:
    """What the sheets ``old`` teach of ``which``, those of a head without a name too; ``sign`` -1 for reversal material."""
    groups: dict[tuple[int, tuple[Any, ...]], list[Sheet]] = {}
    for one in old:
        if one.which.head == which.head and one.which.kind == which.kind and one.which.named in ("", which.named):
            groups.setdefault((_apart(one.which, which), one.negative), []).append(one.sheet)
    lessons = [lesson for (apart, _), sheets in groups.items() if (lesson := _lesson(sheets, apart))]
    return learn(lessons, sign)


def which_of(
    row: RunRow, recipe: Recipe | None, paper: str, box: str, named: str, mine: Head, kind: Kind, *, lit: bool
) -> Which:
    """What run ``row`` of ``recipe`` was made with; ``paper``, ``box`` and the head's name (``named``) as they are written.
    ``mine``: the settings' head, where the notebook has none; ``lit``: by lights."""
    return Which(_head(row, recipe, mine, lit), paper.strip(), box.strip(), kind, named.strip().casefold())


def paper_known(notebook: Notebook, mine: Head, paper: str) -> Learned | None:
    """What is known of the head ``mine`` with that ``paper`` by whatever instrument; None where only its head is."""
    forgotten = forgotten_since()
    for kind in KINDS:
        old = old_sheets(notebook, mine, kind, forgotten, mine.kind)
        learned = known(old, Which(mine.kind, paper.strip(), "", kind, mine.name.strip().casefold()))
        if learned and sum(learned.sheets[:2]):
            return learned
    return None


def every(old: Sequence[Old]) -> list[tuple[Which, Learned, int]]:
    """All that the sheets ``old`` teach: of each head, paper and box, with the sign of the material."""
    found = []
    for which in dict.fromkeys(one.which for one in old):
        for sign in (1, -1):
            learned = known(old, which, sign)
            if learned and learned.sheets[0]:
                found.append((which, learned, sign))
    return found


# ── the notebook ─────────────────────────────────────────────────────────────


def _rows(notebook: Notebook, kind: Kind) -> Iterator[dict[str, Any]]:
    sql = (
        "SELECT run, begun, negative, paper, box, head, made_for FROM sheet"
        " WHERE run IN (SELECT run FROM reading WHERE kind = ?) ORDER BY run DESC LIMIT ?"
    )
    for row in notebook.read(sql, (kind, LOOKED_AT)):
        yield columns.read("sheet", row)


def _old(notebook: Notebook, row: dict[str, Any], mine: Head, kind: Kind) -> Old | None:
    """One sheet; None when it is no use. LamphouseError when it cannot be read."""
    run = notebook.run(row["run"])
    if run.paper not in ("ra4", ""):
        return None
    lights = tuple(given(run, notebook.exposures(run.id), mine.per_stop))
    read = tuple(each for each in kept(notebook, run.id) if each.kind == kind)
    recipe = _recipe(run.recipe or row["made_for"])
    which = which_of(
        run, recipe, row["paper"], row["box"], row["head"], mine, kind, lit=isinstance(lights[0].setting, Lights)
    )
    sheet = at_place(Sheet(run.id, lights, read))
    counted = readings([sheet], GREY_CARD, "densitometer")  # refused here, it does not spoil what others teach
    if not all(r.seconds > 0 and math.isfinite(sum(r.controls)) for r in counted):
        return None
    return Old(which, _negative(run, row["negative"], str(row["begun"]), recipe), sheet)


def _recipe(text: str) -> Recipe | None:
    return parse_recipe(text) if text else None


def _head(row: RunRow, recipe: Recipe | None, mine: Head, lit: bool) -> str:
    if lit:
        return "tricolour" if any(step.filters in COLOURS for step in row.plan.steps) else "additive"
    named = recipe.filters.head if recipe else ""
    return named or (mine.kind if mine.kind and mine.kind not in heads.THREE_LIGHTS else "dichroic")


def _negative(row: RunRow, negative: str, begun: str, recipe: Recipe | None) -> tuple[Any, ...]:
    """The negative's name and how the enlarger stood, as far as it is written; of no name, the first test sheet."""
    day = begun[:10]
    if negative:
        return negative.casefold(), str(recipe.enlargement) if recipe else "", day
    after = _AFTER.fullmatch(recipe.derived.title) if recipe and recipe.derived else None
    return (int(after[1]) if after else row.id,)


def _after(begun: str, time: str | None) -> bool:
    """Whether a sheet was ``begun`` after a ``time``, None for none."""
    if time is None:
        return True
    here, there = columns.moment(begun), columns.moment(time)
    return here is not None and there is not None and here > there


def _apart(one: Which, other: Which) -> int:
    if one.paper.casefold() != other.paper.casefold():
        return 2
    return 0 if one.box.casefold() == other.box.casefold() else 1


def _lesson(sheets: Sequence[Sheet], apart: int) -> Lesson | None:
    theirs = next((aim for each in reversed(sheets) if (aim := aim_of(each.read, each.run))), GREY_CARD)
    counted = readings(sheets, theirs, "densitometer")
    return Lesson(tuple(counted), theirs, apart) if counted else None
