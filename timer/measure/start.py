"""Where to begin with a new negative: the pack and the time of the notebook's right prints, with their spread."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median

from timer.craft import heads
from timer.craft.filters import Pack
from timer.craft.lights import Lights, amounts
from timer.craft.stops import digits
from timer.documents.recipe import Recipe
from timer.documents.recipe_file import parse_recipe
from timer.documents.recipe_light import setting_of
from timer.documents.settings import Head
from timer.errors import LamphouseError, Refused
from timer.notebook.sheets import KEEPER, SheetRow, is_final, search
from timer.notebook.store import Notebook

MOST = 500
"""Sheets that are looked at, the newest."""
APART = 2.0
"""Times that differ by more than this factor are said to: of other sizes, apertures or films."""


@dataclass(frozen=True)
class Start:
    """``setting`` and full-light ``seconds`` (of a tricolour head the longest), the medians of ``prints``, with the ``low``
    and ``high`` of each."""

    setting: heads.Setting
    seconds: float
    prints: int
    low: tuple[heads.Setting, float]
    high: tuple[heads.Setting, float]


def start(notebook: Notebook, head: Head, words: str = "") -> Start:
    """From the right prints (marked final, or rated 4 and up) on ``head`` that have all ``words`` written of them; of each
    negative the newest. Refused when there is none."""
    found: dict[str, tuple[heads.Setting, float]] = {}
    for written in search(notebook, words, MOST):
        if written.kind == "print" and (is_final(written.notes) or (written.rating or 0) >= KEEPER):
            made = _made(notebook, written, head)
            if made:
                found.setdefault((written.negative or written.title).casefold(), made)
    if not found:
        having = f" with {words!r} in it" if words else ""
        raise Refused(
            f"the notebook has no right colour print (marked final, or rated 4 or 5) on {heads.HEADS[head.kind]}{having}: "
            'say where to begin, like --pack "60M 50Y" --seconds 10'
        )
    prints = list(found.values())
    middle, low, high = (_of(prints, pick) for pick in (median, min, max))
    return Start(*middle, len(prints), low, high)


def start_line(found: Start) -> str:
    """Where it is from, in one sentence."""
    if found.prints == 1:
        return "pack and time of the one right print in the notebook"
    (low, least), (high, most) = found.low, found.high
    says = (
        f"pack and time: medians of {found.prints} right prints ({heads.text_of(low)} to {heads.text_of(high)}, "
        f"{digits(least)} to {digits(most)} s)"
    )
    return says + ("; their times differ by over a stop: say --seconds for this size" if most / least > APART else "")


def _made(notebook: Notebook, written: SheetRow, head: Head) -> tuple[heads.Setting, float] | None:
    """What one print was made with, its neutral density taken out; None on another head, or where that is not known."""
    try:
        run = notebook.run(written.run)
        recipe = parse_recipe(run.recipe) if run.recipe else None
        if recipe is None or recipe.paper.kind != "ra4" or recipe.filters.grade:
            return None
        if (recipe.filters.head or "dichroic") != head.kind or recipe.filters.per_stop != head.per_stop * (
            head.kind == "additive"
        ):
            return None
        return _plain(recipe)
    except (LamphouseError, ValueError):
        return None


def _plain(recipe: Recipe) -> tuple[heads.Setting, float]:
    setting = setting_of(recipe.filters)
    if not isinstance(setting, Lights):
        plain = heads.plain(setting)[0]
        return plain, recipe.base_s * heads.time_change(setting, plain, recipe.filters.head or "dichroic")[0]
    if recipe.filters.head != "tricolour":
        return setting, recipe.base_s
    by = recipe.base_s / max(amounts(setting))  # its amounts in seconds
    return Lights(*(by * one for one in amounts(setting))), recipe.base_s


def _of(
    prints: Sequence[tuple[heads.Setting, float]], pick: Callable[[Sequence[float]], float]
) -> tuple[heads.Setting, float]:
    """``pick`` of every dial or light, and of the time, by its logarithm: what a factor more and less is alike."""
    seconds = math.exp(pick([math.log(s) for _, s in prints]))
    first = prints[0][0]
    if isinstance(first, Lights):
        rows = [amounts(setting) for setting, _ in prints if isinstance(setting, Lights)]
        red, green, blue = (round(pick([row[n] for row in rows]), 1) for n in range(3))
        return Lights(red, green, blue, first.per_stop), round(seconds, 2)
    packs = [heads.pack(setting) for setting, _ in prints]
    dials = (pick([pack.c for pack in packs]), pick([pack.m for pack in packs]), pick([pack.y for pack in packs]))
    return Pack(*(float(round(one)) for one in dials)), round(seconds, 2)
