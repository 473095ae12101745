"""From sheets of the notebook to the next one: the readings of a negative's sheets, looks at them, what is to be done then.

What ``lamphouse solve`` and the screen's page ask for. The notebook's readings are taken as they stand; a look is written.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import msgspec

from timer.app.jobs import Job
from timer.app.picks import picks_of
from timer.craft.filters import Pack
from timer.craft.learn import Learned
from timer.craft.lights import Lights
from timer.craft.solve import Reading
from timer.documents.calibrations_file import corrections_file, forgotten_since, load_corrections
from timer.documents.recipe import Filters, Recipe
from timer.documents.recipe_file import parse_recipe
from timer.documents.recipe_light import passes
from timer.documents.settings import Head
from timer.errors import LamphouseError, Refused
from timer.measure.advise import STRIP, Advice, advice_json, advise, as_kept, sentence, strip_command, strip_step
from timer.measure.aperture import at_one_aperture
from timer.measure.crossover import SecondGrey, second_grey, second_grey_json, second_grey_line
from timer.measure.learned import KINDS, known, old_sheets, which_of
from timer.measure.next_recipe import next_recipe
from timer.measure.scales import LEGEND, scales
from timer.measure.sheet import (
    AIM,
    GREY_CARD,
    PLACES,
    Aim,
    Instrument,
    Sheet,
    aim_of,
    at_place,
    given,
    look,
    names,
    readings,
)
from timer.measure.size import at_one_size
from timer.measure.table import table
from timer.notebook import readings as kept
from timer.notebook import sheets, to_read
from timer.notebook.rows import RunRow
from timer.notebook.store import Notebook
from timer.plans.strip import strip_plan

MOST_SHEETS = 12
"""Earlier sheets of a negative that count on the screen."""


@dataclass(frozen=True, eq=False)
class Solved:
    """``advice`` from the ``readings`` of sheets, each with its name; ``row`` and ``negative`` are the last sheet's.

    ``text``: its recipe, or that of the print it was made for, as TOML; empty for none. ``head``: the printer's own, which a
    strip is made with. ``others``: second greys.
    """

    advice: Advice
    readings: tuple[Reading, ...]
    names: tuple[str, ...]
    row: RunRow
    negative: str
    text: str
    head: str = ""
    others: tuple[SecondGrey, ...] = ()

    @property
    def says(self) -> str:
        """One sentence in a printer's order."""
        return sentence(self.advice)

    @property
    def bracket(self) -> str:
        """The command that prints a strip about the next sheet; empty where the last one is right, or all is known."""
        return strip_command(self.advice, self.head) if self.advice.strip and not self.advice.right else ""

    def data(self) -> dict[str, Any]:
        """All of it for JSON."""
        return {**advice_json(self.advice, self.head), "second_greys": [second_grey_json(grey) for grey in self.others]}

    def table(self) -> list[str]:
        """What was read, aim and next sheet, a line each."""
        return table(self.advice, self.readings, self.names)

    def scales(self, width: int) -> list[str]:
        """What the marks are, and the same as marks on a scale of density for each colour."""
        return [LEGEND, *scales(self.advice, self.readings, self.names, width)]


def taken(notebook: Notebook, run: int, per_stop: float = 0.0) -> Sheet:
    """Sheet ``run``: its patches' light and what was read on it. Refused for what no pack is solved for."""
    row = notebook.run(run)
    if row.paper not in ("ra4", ""):
        raise Refused(f"sheet {run} is black-and-white; packs are solved for colour paper")
    return Sheet(run, tuple(given(row, notebook.exposures(run), per_stop)), tuple(kept.readings(notebook, run)))


def look_at(
    notebook: Notebook, run: int, viewing: Pack, darker: float = 0.0, patch: int | None = None, per_stop: float = 0.0
) -> str:
    """Write a look at sheet ``run`` as a reading of it, and give its sample. Refused as ``measure.sheet.look``."""
    seen = look(taken(notebook, run, per_stop), viewing, darker, patch)
    kept.take_readings(notebook, run, [seen])
    return seen.sample


def forget_look(notebook: Notebook, run: int, sample: str) -> None:
    """Take a look back."""
    kept.forget_reading(notebook, run, sample)


def recipe_text(notebook: Notebook, run: int) -> str:
    """The recipe that sheet ``run`` was made from, or for; empty where there is none."""
    return notebook.run(run).recipe or _made_for(notebook, run)


def solved(
    notebook: Notebook,
    runs: Sequence[int],
    head: Head,
    *,
    aim: Aim | None = None,
    otherwise: Aim | None = None,
    read_with: Instrument = "densitometer",
    reversal: bool = False,
    text: str = "",
) -> Solved:
    """What is to be done after the sheets ``runs`` of one negative, oldest first.

    ``aim``: densities (red, green, blue) to reach; without it, what was read of a print called right, or
    ``otherwise``, or of looks alone a grey card. ``text``: the recipe of sheet or print as it is now, if not as the
    notebook has it. Refused in one sentence, for the printer to act on, when something is missing or does not fit.
    """
    places = {run: recipe.enlargement if (recipe := _recipe(notebook, run)) else None for run in runs}
    marked = {run: place.aperture if place else None for run, place in places.items()}
    whole, said_of_lens = at_one_aperture([taken(notebook, run, head.per_stop) for run in dict.fromkeys(runs)], marked)
    whole, said_of_size = at_one_size(whole, places, _exponent(head))
    those = [at_place(each) for each in whole]
    row, last = notebook.run(runs[-1]), runs[-1]
    if not any(each.read for each in those):
        raise Refused(
            f"sheet {last} has no readings; take them in with `lamphouse scan {last} FILE` or `lamphouse notebook "
            f"readings {last} FILE`, or look at it and say --through 10G"
        )
    theirs = next((own for each in reversed(those) if (own := aim_of(each.read, each.run))), None)
    by_eye = any(read.kind == "eye" for each in those for read in each.read)
    target = aim or theirs or otherwise or (GREY_CARD if by_eye else None)
    if target is None:
        raise Refused("say what is aimed at: --aim 0.75, or a reading named 'aim' of a print that is right")
    counted = readings(those, target, read_with, said=bool(aim))
    if not counted:
        raise Refused(f"sheet {last} has an aim and no reading of its own patches")
    text = text or recipe_text(notebook, last)
    learned = _learned(notebook, those, text, head, -1 if reversal else 1)
    looks = all((read.kind or read_with) == "eye" for each in those for read in each.read if read.sample.lower() != AIM)
    advice = advise(counted, those[-1].lights, target, head.top, reversal=reversal, learned=learned, by_eye=looks)
    others, notes = _second_greys(whole, advice, read_with, said=bool(aim))
    advice = replace(advice, notes=(*advice.notes, *said_of_lens, *said_of_size, *notes))
    negative = sheets.sheet(notebook, last).negative
    return Solved(advice, tuple(counted), tuple(names(those)), row, negative, text, head.kind, others)


def _learned(notebook: Notebook, those: Sequence[Sheet], text: str, head: Head, sign: int) -> Learned | None:
    """What sheets before these have taught of the last one's head and paper; ``text``: its recipe."""
    last = those[-1]
    kinds = [read.kind for read in last.read if read.kind in KINDS] or KINDS
    row, written = notebook.run(last.run), sheets.sheet(notebook, last.run)
    runs, forgotten = [each.run for each in those], forgotten_since()
    recipe, lit = parse_recipe(text) if text else None, isinstance(last.lights[0].setting, Lights)
    for kind in dict.fromkeys(kinds):
        which = which_of(row, recipe, written.paper, written.box, written.head, head, kind, lit=lit)
        found = known(old_sheets(notebook, head, kind, forgotten, which.head, runs), which, sign)
        if found:
            return found
    return None


def _second_greys(
    whole: Sequence[Sheet], advice: Advice, read_with: Instrument, *, said: bool
) -> tuple[tuple[SecondGrey, ...], list[str]]:
    """What was read of a darker or a lighter grey, beside the one that is matched, and what is to be said of it."""
    found, notes = list[SecondGrey](), list[str]()
    first = _by_patch(whole, "", advice.aim, read_with, said=said)
    for place in PLACES:
        those = [at_place(each, place) for each in whole]
        aim = next((own for each in reversed(those) if (own := aim_of(each.read, each.run))), None)
        if aim is None:
            if any(each.read for each in those):
                notes.append(f"the {place} grey has no aim: read it on the print that is right too, as 'aim {place}'")
            continue
        second = _by_patch(whole, place, aim, read_with, said=False)
        pairs = [(first[patch], second[patch]) for patch in second if patch in first]
        if pairs:
            found.append(second_grey(place, pairs, advice.aim, aim, advice.known.paper))
            notes.append(second_grey_line(found[-1]))
    return tuple(found), notes


def _by_patch(
    whole: Sequence[Sheet], place: str, aim: Aim, read_with: Instrument, *, said: bool
) -> dict[tuple[object, ...], Reading]:
    """What was read of the grey at ``place`` with an instrument, by sheet and light."""
    seen = [replace(each, read=tuple(read for read in each.read if read.kind != "eye")) for each in whole]
    counted = readings([at_place(each, place) for each in seen], aim, read_with, said=said)
    return {(each.sheet, each.seconds, each.controls): each for each in counted}


def next_of(found: Solved, head: Head) -> tuple[Recipe, str]:
    """The recipe to print next, and what must be said of its aperture. Refused when it could not be made."""
    advice = as_kept(found.advice) if found.advice.right else found.advice
    return next_recipe(advice, found.text, found.row.id, head.kind, found.negative)


def is_as_printed(found: Solved) -> bool:
    """Whether nothing is to be written: the last sheet is a print, and right."""
    return found.advice.right and not found.row.plan.patches


def bracket(found: Solved, made: Job) -> Job:
    """A strip around the print ``made``, as wide as what is expected is uncertain."""
    assert made.recipe
    middle, through = made.recipe.base_s, passes(made.recipe.filters)
    plan = strip_plan(middle, strip_step(found.advice), STRIP, "window", around=True, paper="ra4", parts=through)
    plan = replace(plan, notes=(*plan.notes, f"made for: {made.plan.title}"))
    return Job(plan, made_for=made, picks=picks_of(plan))


def head_for(text: str, mine: Head) -> Head:
    """The head that the recipe ``text`` is set on; of the kind of ``mine``, with its ends."""
    filters = parse_recipe(text).filters if text else Filters()
    if filters.head in ("", mine.kind):
        return Head(mine.kind, mine.top, filters.per_stop or mine.per_stop, mine.name)
    return Head(filters.head, 0.0, filters.per_stop)


def earlier(notebook: Notebook, run: int) -> tuple[int, ...]:
    """Sheets before ``run`` that count with it, oldest first: of its negative, at its size, and with readings.

    Of a sheet without a negative's name there are none; nor any whose light is not known well.
    """
    this = sheets.sheet(notebook, run)
    if not this.negative:
        return ()
    stands, out = _stands(notebook, run), list[int]()
    for other in sheets.of_negative(notebook, this.negative, before=run):
        try:
            if _stands(notebook, other) == stands and taken(notebook, other).read:
                out.append(other)
        except LamphouseError:
            continue
    return tuple(out[-MOST_SHEETS:])


def _stands(notebook: Notebook, run: int) -> object:
    """How the enlarger stood, and the paper, as far as it is written; of the aperture only whether it is."""
    recipe = _recipe(notebook, run)
    if recipe is None:
        return None
    place = recipe.enlargement
    return msgspec.structs.replace(place, aperture=None), place.aperture is None, recipe.paper


def _exponent(head: Head) -> float:
    """Of the print-size formula on the settings' head, if it was measured by that name."""
    measured = load_corrections(corrections_file()).heads.get(head.name)
    return measured.exponent if measured else 1.0


def _recipe(notebook: Notebook, run: int) -> Recipe | None:
    """That of sheet ``run``, or of the print it was made for."""
    text = notebook.run(run).recipe or _made_for(notebook, run)
    return parse_recipe(text) if text else None


def _made_for(notebook: Notebook, run: int) -> str:
    """The recipe of the colour print that test ``run`` was made for."""
    test = to_read.find(notebook, run)
    return test.made_for if test.recipe and test.recipe.paper.kind == "ra4" else ""
