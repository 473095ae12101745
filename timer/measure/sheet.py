"""What a sheet of the notebook was given, patch by patch, and what was read on it."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from timer.craft import heads
from timer.craft.filters import Pack
from timer.craft.lights import Lights, light
from timer.craft.solve import Reading
from timer.documents.cgats import Reading as Read
from timer.documents.recipe_file import parse_recipe
from timer.documents.recipe_light import setting_of
from timer.errors import Refused
from timer.notebook.light import booked, full_seconds
from timer.notebook.rows import ExposureRow, RunRow

ERRORS = {"densitometer": 0.01, "scan": 0.03, "eye": 0.06}
"""One standard deviation of a density, by what it was read with."""
SCAN_BESIDE_AIM = 0.015
"""The same of a scan that has the aim in it: what is wrong with the scanner is wrong with both."""
Instrument = Literal["densitometer", "scan", "eye"]
AIM = "aim"
"""The sample that is a print called right, read in the same way."""
WHOLE = 0
"""The number of a print's one patch: the base, where nothing was dodged or burnt."""
_PATCH = re.compile(r"(?:patch|p|a)?\s*0*(\d{1,3})", re.I)
_PATCHES = re.compile(r"patch(?:es)? (\d+)(?: to (\d+))?")
_TURN = ("red", "green", "blue")


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
    if row.state != "finished" or row.continues is not None:
        raise Refused(f"sheet {row.id} was interrupted, so what its patches got is not known well enough; make it again")
    recipe = parse_recipe(row.recipe) if row.recipe else None
    by_patch: dict[int, dict[str, float]] = {}
    for exposure in exposures:
        step = row.plan.steps[exposure.step]
        for patch in _patches_of(step.area, len(row.plan.patches)):
            through = by_patch.setdefault(patch, {})
            through[step.filters] = through.get(step.filters, 0.0) + _light(exposure, row)
    if not by_patch:
        raise Refused(f"sheet {row.id} has neither patches nor a base; solve from a test sheet or a print")
    own = setting_of(recipe.filters) if recipe and not recipe.filters.grade else None
    return [_given(patch, through, own, per_stop, row.id) for patch, through in sorted(by_patch.items())]


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
    if set(through) <= set(_TURN) and through:
        red, green, blue = (through.get(name, 0.0) for name in _TURN)
        if min(red, green, blue) <= 0:
            raise Refused(f"sheet {run}, patch {patch}: it did not have light of all three colours")
        longest = max(red, green, blue)
        return Given(patch, longest, Lights(*(100 * s / longest for s in (red, green, blue))))
    if len(through) > 1:
        raise Refused(
            f"sheet {run}, patch {patch}: it had light through {' and '.join(through)}, which is more than one pack"
        )
    (text, seconds) = next(iter(through.items()))
    if own is not None and patch == WHOLE:
        return Given(patch, seconds, own)
    try:
        kind = "additive" if text.startswith("R") else "dichroic"
        return Given(patch, seconds, heads.parse_setting(text or "0", kind, per_stop))
    except ValueError:
        raise Refused(f"sheet {run}, patch {patch}: {text!r} is no pack or lights that can be solved for") from None


def readings(run: int, lights: Sequence[Given], read: Sequence[Read], error: float) -> list[Reading]:
    """What was ``read`` of a sheet beside what its patches were given; samples are named by the patch's number, of a print
    by any name. Refused for a sample that is no patch of it, and for one without red, green and blue."""
    by_patch = {each.patch: each for each in lights}
    out = []
    for each in read:
        if each.sample.lower() == AIM:
            continue
        found = _PATCH.fullmatch(each.sample)
        patch = WHOLE if WHOLE in by_patch else int(found[1]) if found else -1
        if patch not in by_patch:
            names = f"1 to {max(by_patch)}"
            raise Refused(
                f"sheet {run} has no patch {each.sample!r}; its patches are {names}, and {AIM!r} is a print to match"
            )
        density = three(each, run)
        out.append(Reading(by_patch[patch].seconds, controls(by_patch[patch].setting), density, error, run))
    return out


def aim_of(read: Sequence[Read], run: int) -> tuple[float, float, float] | None:
    """The reading of the print to match, if there is one among them."""
    return next((three(each, run) for each in read if each.sample.lower() == AIM), None)


def three(read: Read, run: int) -> tuple[float, float, float]:
    """The red, green and blue density of a reading of sheet ``run``; Refused when one of them is not there."""
    if read.red is None or read.green is None or read.blue is None:
        raise Refused(f"sheet {run}, sample {read.sample}: it needs red, green and blue densities to solve for a pack")
    return read.red, read.green, read.blue


def through_filter(aim: tuple[float, float, float], viewing: Pack, darker: float) -> tuple[float, float, float]:
    """What a print is read as by eye that looks right through ``viewing``: so much less density than ``aim``, its
    neutral part aside, and ``darker`` (density) in all."""
    part = (viewing.c / 100, viewing.m / 100, viewing.y / 100)
    grey = sum(part) / 3
    red, green, blue = (a - p + grey + darker for a, p in zip(aim, part, strict=True))
    return red, green, blue
