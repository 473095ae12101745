"""Exposure and density of the patches of black-and-white sheets, from what they were given and what was read on them."""

import math
import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass

from timer.craft.bw_curve import CurveShort, PaperCurve, fit
from timer.documents.reading import Reading
from timer.documents.recipe import Recipe
from timer.errors import Refused
from timer.measure.sheet import AIM, BY_EYE, ERRORS, WHOLE, light_through
from timer.notebook.rows import ExposureRow, RunRow

BASE, BLACK = "base", "black"
"""Samples that are no patch: an edge that had no light, and a piece that had all of it; both developed."""
_NUMBERED = re.compile(r"(?:patch|step|p|a)?\s*0*(\d{1,3})", re.I)
BLACK_AND_WHITE = ("bw", "pan", "")


@dataclass(frozen=True)
class Point:
    """A patch as it was read; ``log_exposure``: log10 of seconds, or of lux seconds."""

    run: int
    sample: str
    seconds: float
    log_exposure: float
    density: float
    error: float


@dataclass(frozen=True)
class BwSheet:
    """A sheet through one contrast filter (``grade``; empty: none): its points, and ``base`` and ``black`` if read."""

    run: int
    paper: str
    grade: str
    set_up: str
    points: tuple[Point, ...]
    base: float | None = None
    black: float | None = None


def density_of(read: Reading) -> float:
    """The visual density, or the mean of those in colours; Refused when there is none."""
    if read.visual is not None:
        return read.visual
    there = [one for one in (read.red, read.green, read.blue) if one is not None]
    if not there:
        raise Refused(f"sample {read.sample} has no density")
    return sum(there) / len(there)


def error_of(read: Reading) -> float:
    """One standard deviation of ``density_of``: a colorimeter's visual density is as good as a densitometer's."""
    usual = ERRORS["densitometer"] if read.kind == "colorimeter" else ERRORS[read.kind or "densitometer"]
    return read.error or usual


def bw_sheet(
    row: RunRow,
    exposures: Sequence[ExposureRow],
    read: Sequence[Reading],
    recipe: Recipe | None = None,
    *,
    printed: Mapping[str, float] | None = None,
    lux: float | None = None,
) -> BwSheet:
    """The points of sheet ``row``: of a strip its patches; of a print in one exposure the steps of a tablet ``printed``
    on it, by their densities. ``recipe``: what it was made by, or for. ``lux``: the light on the paper under no tablet.
    Refused when it is none of these.
    """
    if row.paper not in BLACK_AND_WHITE:
        raise Refused(f"sheet {row.id} is colour paper; a paper's curve is read from black-and-white")
    by_patch = light_through(row, exposures)
    grade = _one_grade(row, by_patch)
    seconds = {patch: sum(through.values()) for patch, through in by_patch.items()}
    kept = [one for one in read if one.kind != "eye" and not one.sample.lower().endswith(BY_EYE)]
    own = {one.sample.lower(): density_of(one) for one in kept if one.sample.lower() in (BASE, BLACK)}
    others = [one for one in kept if one.sample.lower() not in (BASE, BLACK, AIM)]
    if not others:
        raise Refused(
            f"sheet {row.id} has no readings; take them in with `lamphouse scan {row.id} FILE` or `lamphouse notebook "
            f"readings {row.id} FILE`"
        )
    if printed:
        _must_be_one_exposure(row, by_patch)
        light = {name: (seconds[WHOLE], -density) for name, density in printed.items()}
    else:
        if WHOLE in by_patch or not by_patch:
            raise Refused(
                f"sheet {row.id} is no strip: a curve is read from a strip, or from a step tablet printed on one sheet "
                "(--printed '0.05 0.20 0.35 ...')"
            )
        light = {str(patch): (one, 0.0) for patch, one in seconds.items()}
    shift = math.log10(lux) if lux else 0.0
    points = []
    for one in others:
        name = _named(one.sample, light, row.id, printed=bool(printed))
        time, less = light[name]
        at = math.log10(time) + less + shift
        points.append(Point(row.id, name, time, at, density_of(one), error_of(one)))
    points.sort(key=lambda point: point.log_exposure)
    paper = recipe.paper.name if recipe else ""
    return BwSheet(row.id, paper, grade, _set_up(recipe) if recipe else "", tuple(points), own.get(BASE), own.get(BLACK))


def light_of_print(row: RunRow, exposures: Sequence[ExposureRow], sample: str) -> tuple[float, str]:
    """Full-light seconds and grade of the base of a print, or of the patch of a test that ``sample`` begins with, like
    ``3 sky``. Refused when it had none, or several grades."""
    by_patch = light_through(row, exposures)
    found = re.match(r"\s*(\d{1,3})\b", sample)
    patch = WHOLE if WHOLE in by_patch else int(found[1]) if found else -1
    if patch not in by_patch:
        names = ", ".join(map(str, sorted(by_patch))) or "none"
        raise Refused(f"sheet {row.id}: which patch is {sample!r}? Its patches are {names}; name the sample like '3 sky'")
    return sum(by_patch[patch].values()), _one_grade(row, {patch: by_patch[patch]})


def _one_grade(row: RunRow, by_patch: Mapping[int, Mapping[str, float]]) -> str:
    through = {filters for patch in by_patch.values() for filters in patch}
    if len(through) > 1:
        names = " and ".join(sorted(one or "no filter" for one in through))
        raise Refused(f"sheet {row.id} had light through {names}; a curve is of one grade")
    only = next(iter(through), "")
    if only and not only.startswith("grade "):
        raise Refused(f"sheet {row.id} had light through {only}, which is no contrast grade")
    return only.removeprefix("grade ")


def _must_be_one_exposure(row: RunRow, by_patch: Mapping[int, object]) -> None:
    if WHOLE not in by_patch:
        raise Refused(f"sheet {row.id} is a strip; a step tablet is printed on one sheet, in one exposure")
    steps = [step for step in row.plan.steps if step.do == "expose"]
    dodged = any(mark.cue == "change" for step in steps for mark in step.marks)
    if dodged or {step.area for step in steps} != {"base"}:
        raise Refused(f"sheet {row.id} was dodged, burnt or flashed; a step tablet is printed in one plain exposure")


def _named(sample: str, light: Mapping[str, object], run: int, *, printed: bool) -> str:
    exact = next((name for name in light if name.lower() == sample.lower()), None)
    found = _NUMBERED.fullmatch(sample)
    name = exact or (found[1].lstrip("0") if found else "")
    if name not in light:
        what = "step" if printed else "patch"
        names = list(light)
        raise Refused(
            f"sheet {run} has no {what} {sample!r}; its {what}{'s' if printed else 'es'} are {names[0]} to {names[-1]}, "
            f"and there are {BASE!r} (had no light) and {BLACK!r} (had all of it)"
        )
    return name


def _set_up(recipe: Recipe) -> str:
    """Negative, size and aperture as they were said, when all three were: what makes seconds of two sheets alike."""
    place = recipe.enlargement
    if not (recipe.negative and place.sheet and place.aperture):
        return ""
    return f"{recipe.negative}, {place.sheet}, f/{place.aperture:g}"


def curve_of(sheets: Sequence[BwSheet], *, base: float | None = None, black: float | None = None) -> PaperCurve:
    """The curve through all points of ``sheets``; ``base`` and ``black`` as read, else those of the sheets. Refused in one
    sentence, with the strip that would mend it."""
    points = [point for sheet in sheets for point in sheet.points]
    bases = [sheet.base for sheet in sheets if sheet.base is not None]
    blacks = [sheet.black for sheet in sheets if sheet.black is not None]
    white = base if base is not None else sum(bases) / len(bases) if bases else None
    dark = black if black is not None else sum(blacks) / len(blacks) if blacks else None
    try:
        return fit([(point.log_exposure, point.density) for point in points], base=white, darkest=dark)
    except CurveShort as short:
        read_by_itself = {end for end, density in (("light", white), ("dark", dark)) if density is not None}
        raise Refused(_what_would_reach(short, sheets, read_by_itself)) from None
    except ValueError as error:
        raise Refused(f"{_sheets(sheets)}: {error}") from None


def _sheets(sheets: Sequence[BwSheet]) -> str:
    return "sheet " + ", ".join(str(sheet.run) for sheet in sheets)


def _what_would_reach(short: CurveShort, sheets: Sequence[BwSheet], read_by_itself: Set[str]) -> str:
    """Which end is missing, and the strip or the print of the tablet that would reach it."""
    points = sorted((point for sheet in sheets for point in sheet.points), key=lambda point: point.log_exposure)
    through = f" --grade '{sheets[0].grade}'" if sheets[0].grade else ""
    runs = " ".join(str(sheet.run) for sheet in sheets)
    says = []
    for end, stops in short.stops.items():
        light = end == "light"
        point = points[0] if light else points[-1]
        what = "white" if light else "black"
        tablet = len({one.seconds for one in points}) == 1
        first = point.seconds / 2**stops if light else point.seconds * 2**0.5
        time = point.seconds * (2**-stops if light else 2**stops)
        mend = (
            f"print the tablet once more at {time:.3g} s"
            if tablet
            else f"make one more: `lamphouse strip --from {first:.3g} --step 1/2 --patches {2 * stops}{through}`"
        )
        own = BASE if light else BLACK
        edge = "an edge that had no light" if light else "a piece that had all the light"
        says.append(
            f"the readings do not reach the paper's {what} ({point.density:.2f} at {'step' if tablet else 'patch'} "
            f"{point.sample}): {mend}, and name its number here with {runs}"
            + ("" if end in read_by_itself else f"; or read {edge} as sample {own!r}")
        )
    return f"{_sheets(sheets)}: " + "; ".join(says)
