"""What a sheet of the notebook was given, patch by patch, and what was read on it."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from timer.craft import heads
from timer.craft.filters import Pack
from timer.craft.lights import COLOURS, Lights, light
from timer.craft.solve import Reading
from timer.documents.reading import Reading as Read
from timer.documents.recipe_file import parse_recipe
from timer.documents.recipe_light import setting_of
from timer.errors import Refused
from timer.notebook.light import booked, full_seconds
from timer.notebook.rows import ExposureRow, RunRow

ERRORS = {"densitometer": 0.01, "scan": 0.03, "colorimeter": 0.05, "eye": 0.05}
"""One standard deviation of a density, by what it was read with."""
SHARED = {"eye": 0.08}
"""The same of what all three densities are off by together: an eye knows a colour better than how dark it is."""
BESIDE_AIM = {"scan": 0.015, "colorimeter": 0.03}
"""The same with the aim read along with it: what is wrong with the instrument is wrong with both."""
SAME_PRINT = 0.15
"""Density: the aims of two sheets as near as this are one print, read twice."""
Instrument = Literal["densitometer", "scan", "eye"]
Aim = tuple[float, float, float]
GREY_CARD: Aim = (0.74, 0.74, 0.74)
"""Density of a card that reflects 18 %: log10(1 / 0.18)."""
AIM = "aim"
"""The sample that is a print called right, read in the same way."""
WHOLE = 0
"""The number of a print's one patch: the base, where nothing was dodged or burnt."""
BY_EYE = "by eye"
"""The sample of a look at a print; one at a patch has the number before it."""
PATCH = re.compile(r"(?:patch|p|a)?\s*0*(\d{1,3})(?: by eye)?", re.I)
_PATCHES = re.compile(r"patch(?:es)? (\d+)(?: to (\d+))?")
PLACES = ("dark", "light")
"""The last word of a sample of a second grey, darker or lighter than the one that is matched: ``3 dark``, ``aim dark``."""
_AT_PLACE = re.compile(rf"(.*?)[\s_-]*({'|'.join(PLACES)})", re.I)


@dataclass(frozen=True)
class Given:
    """One patch's light: full-light ``seconds`` (of a tricolour head the longest) through ``setting``."""

    patch: int
    seconds: float
    setting: heads.Setting


def controls(setting: heads.Setting) -> tuple[float, float, float]:
    """``setting`` as the solver has it: density of C, M, Y, or what each light is less than a hundred."""
    if isinstance(setting, Lights):
        red, green, blue = (-math.log10(one / 100) if one > 0 else math.inf for one in light(setting))
        return red, green, blue
    pack = heads.pack(setting)
    return pack.c / 100, pack.m / 100, pack.y / 100


def as_setting(amounts: Sequence[float], like: heads.Setting) -> heads.Setting:
    """The solver's controls on the head that ``like`` is a setting of."""
    if isinstance(like, Lights):
        shine = [100 * 10**-u for u in amounts]
        levels = [like.per_stop * math.log2(s) if like.per_stop else s for s in shine]
        red, green, blue = (max(0.0, round(level, 2)) for level in levels)
        return Lights(red, green, blue, like.per_stop)
    return Pack(*(round(100 * u, 2) for u in amounts))


def given(row: RunRow, exposures: Sequence[ExposureRow], per_stop: float = 0.0) -> list[Given]:
    """The light of every patch of a strip or test sheet, or of a print's base. Refused when it is not known well."""
    by_patch = light_through(row, exposures)
    recipe = parse_recipe(row.recipe) if row.recipe else None
    if not by_patch:
        raise Refused(f"sheet {row.id} has neither patches nor a base; solve from a test sheet or a print")
    own = setting_of(recipe.filters) if recipe and not recipe.filters.grade else None
    return [_given(patch, through, own, per_stop, row.id) for patch, through in sorted(by_patch.items())]


def light_through(row: RunRow, exposures: Sequence[ExposureRow]) -> dict[int, dict[str, float]]:
    """Full-light seconds of each patch, by the filters they came through; a print's base is patch ``WHOLE``. Refused when
    the light is not known well."""
    if row.state != "finished" or row.continues is not None:
        raise Refused(f"sheet {row.id} was interrupted, so what its patches got is not known well enough; make it again")
    by_patch: dict[int, dict[str, float]] = {}
    for exposure in exposures:
        step = row.plan.steps[exposure.step]
        for patch in _patches_of(step.area, len(row.plan.patches)):
            through = by_patch.setdefault(patch, {})
            through[step.filters] = through.get(step.filters, 0.0) + _light(exposure, row)
    return by_patch


def _patches_of(area: str, count: int) -> range:
    if area == "base":
        return range(WHOLE, WHOLE + 1)
    found = _PATCHES.fullmatch(area)
    if not found or not count:
        return range(0)
    return range(int(found[1]), int(found[2] or found[1]) + 1)


def _light(exposure: ExposureRow, row: RunRow) -> float:
    """Full-light seconds, the middle of a range. Refused when the range is wide."""
    end = booked(exposure)
    low, high = full_seconds(end, row.response, exposure.dose_s) if end else (0.0, None)
    if high is None or high - low > 0.02 * low:
        raise Refused(f"sheet {row.id}: how much light {exposure.label} got is not known to 2 %; make it again")
    return (low + high) / 2


def _given(patch: int, through: dict[str, float], own: heads.Setting | None, per_stop: float, run: int) -> Given:
    if set(through) <= set(COLOURS) and through:
        red, green, blue = (through.get(name, 0.0) for name in COLOURS)
        if min(red, green, blue) <= 0:
            raise Refused(f"sheet {run}, patch {patch}: it did not have light of all three colours")
        longest = max(red, green, blue)
        return Given(patch, longest, Lights(*(100 * s / longest for s in (red, green, blue))))
    if len(through) > 1:
        raise Refused(
            f"sheet {run}, patch {patch}: it had light through {' and '.join(through)}, which is more than one pack"
        )
    (text, seconds) = next(iter(through.items()))
    if seconds <= 0:
        raise Refused(f"sheet {run}, patch {patch}: it had no light")
    if own is not None and patch == WHOLE:
        return Given(patch, seconds, own)
    try:
        kind = "additive" if text.startswith("R") else "dichroic"
        return Given(patch, seconds, heads.parse_setting(text or "0", kind, per_stop))
    except ValueError:
        raise Refused(f"sheet {run}, patch {patch}: {text!r} is no pack or lights that can be solved for") from None


@dataclass(frozen=True)
class Sheet:
    """A sheet of the notebook: what its patches were given, and what was read on it."""

    run: int
    lights: tuple[Given, ...]
    read: tuple[Read, ...]


def at_place(sheet: Sheet, place: str = "") -> Sheet:
    """``sheet`` with what was read of the grey at ``place``, its samples without that word; empty: of the one to match."""
    read = []
    for each in sheet.read:
        found = _AT_PLACE.fullmatch(each.sample)
        if (found[2].lower() if found else "") == place:
            read.append(replace(each, sample=found[1] or each.sample) if found else each)
    return replace(sheet, read=tuple(read))


def parse_aim(text: str) -> Aim:
    """One density for a neutral, or three: red, green, blue. ValueError for anything else."""
    try:
        numbers = [float(part) for part in text.replace(",", " ").split()]
    except ValueError:
        numbers = []
    if len(numbers) not in (1, 3) or not all(0 <= d <= 4 for d in numbers):
        raise ValueError(f"{text!r} is not a density like 0.75, or three of them, like '0.76 0.74 0.71'")
    return (numbers[0],) * 3 if len(numbers) == 1 else (numbers[0], numbers[1], numbers[2])


def aim_of(read: Sequence[Read], run: int) -> Aim | None:
    """The reading of the print to match, if there is one among them."""
    return next((three(each, run) for each in read if each.sample.lower() == AIM), None)


def readings(sheets: Sequence[Sheet], aim: Aim, read_with: Instrument, *, said: bool = False) -> list[Reading]:
    """What was read of each sheet beside what its patches were given; samples are named by the patch's number, of a print by
    any name. ``read_with``: what readings were taken with that do not say. ``said``: ``aim`` is not one of theirs.

    A print to match that was read with a sheet is the same as ``aim``, so what it was read off by, its sheet was too.
    Refused for a sample that is no patch of its sheet, and for one without red, green and blue.
    """
    return [reading for each in sheets for reading in _of_sheet(each, aim, read_with, said)]


def _of_sheet(sheet: Sheet, aim: Aim, read_with: Instrument, said: bool) -> list[Reading]:
    by_patch = {each.patch: each for each in sheet.lights}
    beside = next((each for each in sheet.read if each.sample.lower() == AIM), None)
    own = aim_of(sheet.read, sheet.run)
    shift = [a - b for a, b in zip(aim, own, strict=True)] if own and not said else [0.0] * 3
    shift = shift if max(map(abs, shift)) <= SAME_PRINT else [0.0] * 3
    out = []
    for each in sheet.read:
        if each.sample.lower() == AIM:
            continue
        found = PATCH.fullmatch(each.sample)
        patch = WHOLE if WHOLE in by_patch else int(found[1]) if found else -1
        if patch not in by_patch:
            names = f"1 to {max(by_patch)}"
            raise Refused(
                f"sheet {sheet.run} has no patch {each.sample!r}; its patches are {names}, and {AIM!r} is a print to match"
            )
        red, green, blue = (d + s for d, s in zip(three(each, sheet.run), aim if each.kind == "eye" else shift, strict=True))
        kind, given = each.kind or read_with, by_patch[patch]
        error = each.error or usual_error(kind, beside_aim=bool(beside and beside.kind == each.kind))
        shared = SHARED.get(kind, 0.0)
        out.append(Reading(given.seconds, controls(given.setting), (red, green, blue), error, sheet.run, shared))
    return out


def names(sheets: Sequence[Sheet]) -> list[str]:
    """Of all ``readings`` of ``sheets``, in their order: each sample as it is named in the notebook."""
    return [each.sample for sheet in sheets for each in sheet.read if each.sample.lower() != AIM]


def usual_error(kind: str, *, beside_aim: bool) -> float:
    """One standard deviation of a density that was read with ``kind``, with the aim read along with it or not; the widest of
    a kind that is none of ours, in a notebook that is damaged."""
    error = ERRORS.get(kind, max(ERRORS.values()))
    return BESIDE_AIM.get(kind, error) if beside_aim else error


def three(read: Read, run: int) -> Aim:
    """The red, green and blue density of a reading of sheet ``run``; Refused when one of them is not there."""
    if read.red is None or read.green is None or read.blue is None:
        raise Refused(f"sheet {run}, sample {read.sample}: it needs red, green and blue densities to solve for a pack")
    return read.red, read.green, read.blue


def look(sheet: Sheet, viewing: Pack, darker: float, patch: int | None) -> Read:
    """A look at a print, or a ``patch``, as a reading: it looks right through ``viewing``, but ``darker`` (density).

    So it has that much too little of those colours, their neutral part aside. Refused when it is not clear which patch.
    """
    seen = [given for given in sheet.lights if patch is None or given.patch == patch]
    if len(seen) != 1:
        most = max(given.patch for given in sheet.lights)
        raise Refused(f"sheet {sheet.run} has patches 1 to {most}: say which one you looked at, like --patch 3")
    part = (viewing.c / 100, viewing.m / 100, viewing.y / 100)
    red, green, blue = (sum(part) / 3 - p + darker for p in part)
    sample = BY_EYE if seen[0].patch == WHOLE else f"{seen[0].patch} {BY_EYE}"
    return Read(sample, red, green, blue, None, "eye")
