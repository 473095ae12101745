"""The next step in a printer's order: filters, pack, time, how sure, what then."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

import numpy as np

from timer.craft import heads
from timer.craft.by_eye import STEP, right_by_eye
from timer.craft.learn import Fitted, Learned, fit, fit_without_odd
from timer.craft.lights import Lights
from timer.craft.odd_patch import Odd
from timer.craft.sensitometry import Array, dye_slopes, exposures_for
from timer.craft.solve import Estimate, Next, next_setting
from timer.craft.solve import Reading as Solved
from timer.craft.stops import digits
from timer.errors import Refused
from timer.measure.sheet import SHARED, Given, as_setting, controls

RIGHT = 0.03
"""Density: a print as near as this to its aim, in each colour, is called right."""
SETTLES, WIDE = 0.06, 0.15
"""Density, twice the standard deviation: up to which one sheet more should do, and from which a strip is better than a
print."""
WIDE_BY_EYE = (WIDE**2 + (2 * SHARED["eye"]) ** 2) ** 0.5
"""The same beside what every look is unsure of."""
STRIP = 5
"""Patches of a strip that brackets what is expected."""
CONTRADICTS = 4.0
"""A patch off by more than so many standard deviations is not of this sheet, or was not lit as planned."""


@dataclass(frozen=True, eq=False)
class Advice:
    """``setting`` and ``seconds`` at ``stops`` of aperture from now; ``density`` and ``cast_cc`` are twice the standard
    deviation, of density and in CC of pack. ``strip``: bracket it first. ``right``: nothing is to be done; ``by_eye``: as
    far as looks tell. ``residuals`` (n, 3): every reading less what is predicted there, of ``left_out`` too: the one, from
    0, that is not counted."""

    known: Estimate
    then: Next
    now: Given
    aim: tuple[float, float, float]
    setting: heads.Setting
    density: float
    cast_cc: float
    right: bool
    strip: bool
    notes: tuple[str, ...]
    learned: Learned | None = None
    by_eye: bool = False
    residuals: Array = field(default_factory=lambda: np.zeros((0, 3)))
    left_out: int | None = None


def advise(
    readings: Sequence[Solved],
    lights: Sequence[Given],
    aim: tuple[float, float, float],
    top: float = 0.0,
    *,
    reversal: bool = False,
    learned: Learned | None = None,
    by_eye: bool = False,
) -> Advice:
    """What to do after ``readings`` of sheets, of the last of which ``lights`` are the patches. Refused when the aim is off
    the paper, or the readings cannot be of these sheets. ``learned``: what sheets before have taught of head and paper.
    ``by_eye``: there are looks alone, which are followed part of the way, from what was looked at."""
    sign = -1 if reversal else 1
    try:
        if by_eye:
            fitted, odd = fit(readings, learned, aim, sign), None
        else:
            fitted, odd = fit_without_odd(readings, learned, aim, sign)
        known = fitted.known
        seen = {(each.seconds, each.controls) for each in readings}
        looked_at = [g for g in lights if (g.seconds, controls(g.setting)) in seen] if by_eye else []
        now = min(
            looked_at or lights, key=lambda g: float(np.linalg.norm(known.predict(g.seconds, controls(g.setting)) - aim))
        )
        here = controls(now.setting)
        lit = isinstance(now.setting, Lights)
        then = next_setting(
            known,
            (now.seconds, here),
            aim,
            floor=min(here) if lit else 0.0,
            top=min(here) + 2.5 if lit else (top or 250.0) / 100,
            grain=0.0 if lit else 0.01,
            share=STEP if by_eye else 1.0,
        )
    except ValueError as error:
        raise Refused(str(error)) from None
    grey = np.full(3, 1 / 3)
    density = 2 * float(np.sqrt(grey @ then.covariance @ grey))
    flat = np.eye(3) - grey[None, :].repeat(3, axis=0)
    slope = np.abs(dye_slopes(known.paper, exposures_for(known.paper, aim)))
    cast = 200 * float(np.max(np.sqrt(np.diag(flat @ then.covariance @ flat.T)) / slope))
    off = known.predict(now.seconds, here) - np.asarray(aim)
    right = right_by_eye(known, (now.seconds, here), aim) if by_eye else bool(np.max(np.abs(off)) <= RIGHT)
    rest = odd.rest if odd else known
    notes = [*_of_odd(readings, odd, _residuals(rest, readings)), *_of_step(then), *_of_learned(fitted, learned)]
    return Advice(
        known,
        then,
        now,
        aim,
        as_setting(then.controls, now.setting),
        density,
        cast,
        right,
        density > (WIDE_BY_EYE if by_eye else WIDE),
        tuple(notes),
        learned,
        by_eye,
        _residuals(known, readings),
        odd.which if odd and odd.alone else None,
    )


def _residuals(known: Estimate, readings: Sequence[Solved]) -> Array:
    return np.asarray([np.asarray(r.density) - known.predict(r.seconds, r.controls) for r in readings])


def _of_odd(readings: Sequence[Solved], odd: Odd | None, residuals: Array) -> list[str]:
    """A reading that does not belong with the others, or one that is far off the fit."""
    far = np.max(np.abs(residuals), axis=1)
    sigma = np.asarray([max(r.error, 0.02) for r in readings])
    worst = odd.which if odd else int(np.argmax(far / sigma))
    by = f"reading {worst + 1} is off the rest by {far[worst]:.2f} in density"
    if odd and odd.alone:
        return [f"{by} and is not counted: another patch was read, or it was not lit as planned; look at it"]
    if odd or (len(readings) > 1 and far[worst] / sigma[worst] > CONTRADICTS):
        return [f"{by}: another patch, another sheet, or a paper unlike any; look at it before you trust this"]
    return []


def _of_step(then: Next) -> list[str]:
    notes = list[str]()
    if not then.whole:
        notes.append("the aim is more than two stops away: this is a step towards it, read the next sheet too")
    if not then.met:
        notes.append("the head ends before that colour: this is the nearest it has")
    if then.stops:
        way = "open" if then.stops > 0 else "stop"
        side = "up" if then.stops > 0 else "down"
        many = f"{abs(then.stops)} stop" + ("s" if abs(then.stops) > 1 else "")
        notes.append(f"{way} the lens {side} by {many}: colour paper keeps its balance from 5 to 45 s")
    return notes


def _of_learned(fitted: Fitted, learned: Learned | None) -> list[str]:
    if learned is None:
        return []
    if not fitted.doubted:
        return [learned_from(learned)]
    return [
        f"this contradicts what {many(sum(learned.sheets))} before taught of head and paper ({fitted.surprise:.0f}, where "
        f"chance makes {fitted.limit:.0f} once in a thousand): baths that have drifted, or another paper, head or negative? "
        "What was learned counts less now"
    ]


def learned_from(learned: Learned) -> str:
    """How many sheets stand behind what is known, in words."""
    same, boxes, papers = learned.sheets
    if not same + boxes:
        return f"head known from {many(papers)} on other paper"
    of = "" if not boxes else f", {boxes} of another box" if same else " of another box"
    return f"head and paper known from {many(same + boxes)}{of}"


def many(sheets: int) -> str:
    """``4 sheets``."""
    return f"{sheets} sheet{'s' if sheets != 1 else ''}"


def sentence(advice: Advice) -> str:
    """One sentence in a printer's order."""
    if advice.right and advice.by_eye:
        return f"It is right as far as an eye tells. Keep {_setting_text(advice.now)}, or make one more ring around it."
    if advice.right:
        return f"It is right: within {RIGHT:g} of the aim in every colour. Keep {_setting_text(advice.now)}."
    pack = heads.text_of(advice.setting)
    name = "lights" if isinstance(advice.setting, Lights) else "pack"
    says = f"{_change(advice.now.setting, advice.setting)}: {name} {pack}; {digits(advice.then.seconds)} s"
    says += f" at {_aperture(advice.then.stops)}. " if advice.then.stops else ". "
    density, cast = max(0.01, advice.density), max(1.0, advice.cast_cc)  # nobody knows better than the last digit
    says += f"Expected within {density:.2f} in density, all three colours together, and {cast:.0f} CC; "
    if advice.strip:
        return says + "make a strip of it first."
    return says + (
        "one more sheet should settle it." if advice.density <= SETTLES else "read that sheet too and solve again."
    )


def strip_step(advice: Advice) -> Fraction:
    """Stops between the patches of a strip that brackets what is expected."""
    return Fraction(1, 3) if advice.density > 2 * WIDE else Fraction(1, 6)


def as_kept(advice: Advice) -> Advice:
    """``advice`` of a test, one patch of which is right: to print with what that had."""
    return replace(advice, setting=advice.now.setting, then=replace(advice.then, seconds=advice.now.seconds, stops=0))


def head_of(setting: heads.Setting, mine: str) -> heads.Head:
    """The head that a sheet through ``setting`` was made with, as far as it tells; ``mine`` is the printer's own."""
    if isinstance(setting, Lights):
        return "tricolour" if mine == "tricolour" else "additive"
    return "cp" if mine == "cp" else "dichroic"


def strip_command(advice: Advice, mine: str = "") -> str:
    """The strip to bracket with, as a command, for the head that is ``mine``."""
    head = f" --head {head_of(advice.setting, mine)}"
    return (
        f"lamphouse strip --around {digits(advice.then.seconds)} --step {strip_step(advice)} --patches {STRIP} --paper ra4 "
        f"--pack '{heads.text_of(advice.setting)}'{head}"
    )


def _setting_text(given: Given) -> str:
    return f"{heads.text_of(given.setting)}, {digits(given.seconds)} s"


def _aperture(stops: int) -> str:
    return f"{abs(stops)} stop{'s' if abs(stops) > 1 else ''} {'wider' if stops > 0 else 'smaller'}"


def _change(old: heads.Setting, new: heads.Setting) -> str:
    """``Add 7M, take 3Y out``."""
    if isinstance(new, Lights):
        return "Set the lights"
    was, now = heads.pack(old), heads.pack(new)
    moved = [(round(b - a, 1), ink) for ink, a, b in (("C", was.c, now.c), ("M", was.m, now.m), ("Y", was.y, now.y))]
    more = " ".join(f"{d:g}{ink}" for d, ink in moved if d > 0)
    less = " ".join(f"{-d:g}{ink}" for d, ink in moved if d < 0)
    says = ", ".join(part for part in (f"add {more}" if more else "", f"take {less} out" if less else "") if part)
    return (says or "leave the filters").capitalize() if not says else says[0].upper() + says[1:]


def advice_json(advice: Advice, mine: str = "") -> dict[str, Any]:
    """For ``--json``: estimate, covariance, predicted densities, and the sentence; ``mine`` as ``strip_command``."""
    known, then = advice.known, advice.then
    return {
        "says": sentence(advice),
        "notes": list(advice.notes),
        "right": advice.right,
        "strip": strip_command(advice, mine) if advice.strip else None,
        "pack": heads.text_of(advice.setting),
        "seconds": then.seconds,
        "aperture_stops": then.stops,
        "aim": list(advice.aim),
        "predicted": _rows(then.density),
        "predicted_covariance": _rows(then.covariance),
        "within": {"density": advice.density, "cast_cc": advice.cast_cc},
        "estimate": {
            "a": _rows(known.a),
            "head": _rows(known.head),
            "slope": _rows(known.paper.slope),
            "skew": _rows(known.paper.skew),
        },
        "covariance": _rows(known.covariance),
        "residuals": _rows(advice.residuals),
        "left_out": None if advice.left_out is None else advice.left_out + 1,
        "learned": learned_json(advice.learned) if advice.learned else None,
    }


def learned_json(learned: Learned) -> dict[str, Any]:
    """For ``--json``: G and slopes, their errors, and how many sheets of this box, of other boxes, of other papers."""
    error = learned.error
    return {
        "says": learned_from(learned),
        "head": _rows(learned.head),
        "head_error": _rows(error[:9].reshape(3, 3)),
        "slope": _rows(learned.slope),
        "slope_error": _rows(error[9:12] * learned.slope),
        "skew": _rows(learned.skew),
        "skew_error": _rows(error[12:]),
        "sheets": dict(zip(("this_box", "other_boxes", "other_papers"), learned.sheets, strict=True)),
        "odd": list(learned.odd),
    }


def _rows(values: Array) -> Any:
    return np.round(values, 6).tolist()
