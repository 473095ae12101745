"""How near a colour print comes to its aim, sheet by sheet: by eye with the half rule, and solved from readings.

    python -m tests.benchmarks.sheets_to_print --rooms 200 --json

Each darkroom is hidden and of chance (tests/tools/dark_paper.py): a head that leaks, Gompertz curves (the solver's are
logistic), dyes that absorb in each other's bands, baths of 0.0075 and a lamp of 0.003 log10 exposure from sheet to sheet,
the right time within a stop of the first guess and the right pack some 15 CC off it. All ways begin with the same guess,
10 s through 55M 50Y; a first sheet of five patches has that as its first patch. What is reported of a sheet is its own
true density against an aim of (0.76, 0.74, 0.72): the mean of the three differences, and the cast, the largest that is
left. An eye errs by 0.08 in density and 0.04 in each colour of a cast. A densitometer errs by 0.008. A scanner has a
matrix of its own, flare, a tone curve off the one it says, noise of half a level in a patch's mean, and 8 bits; the aim lies
in each scan. JPEG's own blocks, dust and uneven light are not in it. What the ways differ in:

  eye, half rule    half of the viewing filter (in steps of 5) is the pack change, the time follows the dial rule
                    and changes by the density seen over 2.5: as it is known from practice; halved when a change turns
  read, half rule   the same on a densitometer's readings, unrounded
  solved, ...       this tool's solver: one patch by eye a sheet; five patches, then one, by scan or densitometer. Where
                    ``solve`` says to make a strip first, the next sheet is that strip; its middle patch stands for it
  learned, ...      the same, one patch on the first sheet, with head and slopes from four other negatives before, two sheets
                    each, as ``timer/craft/learn.py`` finds them

The eye's errors and the first two ways are our judgement of practice, not a measurement of people.
"""

import argparse
import json
import random
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from tests.tools.dark_paper import Darkroom
from timer.craft.by_eye import STEP, right_by_eye
from timer.craft.filters import Pack, dial_change
from timer.craft.learn import Learned, Lesson, fit, fit_without_odd, learn
from timer.craft.solve import Reading, next_setting
from timer.measure.advise import WIDE
from timer.measure.sheet import BESIDE_AIM, ERRORS, SHARED

Array = npt.NDArray[np.float64]
Setting = tuple[float, tuple[float, float, float]]
AIM = np.asarray([0.76, 0.74, 0.72])
START: Setting = (10.0, (0.0, 0.55, 0.50))
SHEETS = 5
BEFORE, EACH = 4, 2
"""Negatives that a learned head and paper are known from, and the sheets of each."""


def first_sheet() -> list[Setting]:
    """As ``timer/plans/first_sheet.py`` lays it out."""
    seconds, (c, m, y) = START
    more = ((c, m + 0.2, y), (c, m, y + 0.2))
    return [START, (seconds / 2**0.5, (c, m, y)), (seconds * 2**0.5, (c, m, y)), *((seconds, u) for u in more)]


# ── instruments ──────────────────────────────────────────────────────────────


class Densitometer:
    error, shared = ERRORS["densitometer"], 0.0

    def __init__(self, chance: random.Random) -> None:
        self._chance = chance

    def read(self, true: Array) -> tuple[Array, Array]:
        """What it says of patches (n, 3), and of the aim."""
        return self._one(true), AIM

    def _one(self, true: Array) -> Array:
        return np.asarray(true + np.asarray([[self._chance.gauss(0, 0.008) for _ in range(3)] for _ in true]))


class Scanner:
    """8-bit values of light through bands of its own, taken for the tone curve that it says it has."""

    error, shared = BESIDE_AIM["scan"], 0.0

    def __init__(self, chance: random.Random) -> None:
        self._chance = chance
        matrix = np.eye(3) * 0.88 + np.asarray([[abs(chance.gauss(0.06, 0.03)) for _ in range(3)] for _ in range(3)])
        self._bands = matrix / matrix.sum(axis=1, keepdims=True)
        self._flare = chance.uniform(0.003, 0.012)
        self._gamma = chance.gauss(2.2, 0.08)

    def read(self, true: Array) -> tuple[Array, Array]:
        both = self._values(np.vstack([true, AIM]))
        densities = -2.2 * np.log10(np.maximum(both, 0.5) / 255)
        return densities[:-1], densities[-1]

    def _values(self, true: Array) -> Array:
        light = (10**-true) @ self._bands.T * (1 - self._flare) + self._flare
        tone = 255 * light ** (1 / self._gamma)
        noise = np.asarray([[self._chance.gauss(0, 0.5) for _ in range(3)] for _ in tone])
        return np.asarray(np.round(tone + noise))


class Eye:
    error, shared = ERRORS["eye"], SHARED["eye"]

    def __init__(self, chance: random.Random) -> None:
        self._chance = chance

    def read(self, true: Array) -> tuple[Array, Array]:
        out = []
        for each in true:
            off = each - AIM
            cast = off - off.mean() + np.asarray([self._chance.gauss(0, 0.04) for _ in range(3)])
            cast = np.round((cast - cast.mean()) / 0.05) * 0.05  # viewing filters come in steps
            out.append(AIM + cast + off.mean() + self._chance.gauss(0, 0.08))
        return np.asarray(out), AIM


@dataclass(frozen=True)
class Made:
    """True densities of each sheet; what each was said to be within in density, before it was made; what was read; whether a
    sheet was said to contradict what was learned."""

    prints: list[Array]
    said: list[float] = field(default_factory=list)
    readings: tuple[Reading, ...] = ()
    doubted: bool = False
    left_out: bool = False


# ── ways ─────────────────────────────────────────────────────────────────────


def half_rule(room: Darkroom, tool: Densitometer | Eye) -> "Made":
    """Half of what is seen, in pack; density by time."""
    seconds, pack = START[0], Pack(m=55, y=50)
    last = np.zeros(3)
    out = []
    for _ in range(SHEETS):
        true = room.sheet([(seconds, (pack.c / 100, pack.m / 100, pack.y / 100))])
        out.append(true[0])
        off = (tool.read(true)[0] - AIM)[0]
        change = (off - off[0]) / 2 * 100  # of magenta and yellow, cyan left at nothing
        turned = change * last < 0
        change = np.where(turned, np.sign(change) * np.minimum(np.abs(change), np.abs(last) / 2), change)
        last = np.where(change != 0, change, last)
        after = Pack(m=max(0.0, pack.m + change[1]), y=max(0.0, pack.y + change[2]))
        seconds *= dial_change(pack, after)[0] * 10 ** (-off.mean() / 2.5)
        pack = after
    return Made(out)


def solved(
    room: Darkroom,
    tool: Densitometer | Scanner | Eye,
    first: list[Setting],
    learned: Learned | None = None,
    sheets: int = SHEETS,
    number: int = 0,
) -> "Made":
    """Sheets from the ``first`` one on, numbered from ``number``, the first patch of each standing for it."""
    settings, readings, out, said = first, list[Reading](), list[Array](), [np.inf]
    doubted = left_out = False
    for sheet in range(number, number + sheets):
        true = room.sheet(settings)
        out.append(true[0])
        read, aim = tool.read(true)
        for (seconds, u), d in zip(settings, read, strict=True):
            readings.append(Reading(seconds, u, (float(d[0]), float(d[1]), float(d[2])), tool.error, sheet, tool.shared))
        if isinstance(tool, Eye):
            fitted = fit(readings, learned, [*aim])
        else:
            fitted, odd = fit_without_odd(readings, learned, [*aim])
            left_out = left_out or (odd is not None and odd.alone)
        doubted = doubted or fitted.doubted
        now = min(settings, key=lambda s: float(np.linalg.norm(fitted.known.predict(*s) - aim)))
        by_eye = isinstance(tool, Eye)
        then = next_setting(fitted.known, now, [*aim], grain=0.01, share=STEP if by_eye else 1.0)
        said.append(2 * float(np.sqrt(then.covariance.mean())))
        if by_eye and right_by_eye(fitted.known, now, [*aim]):
            left = sheets - len(out)
            out, said = out + left * [out[-1]], said + left * [np.inf]  # that print is kept; nothing more is said
            break
        settings = _next_sheet((then.seconds * 2.0**then.stops, then.controls), said[-1], by_eye=by_eye)
    return Made(out, said[:-1], tuple(readings), doubted, left_out)


def _next_sheet(setting: Setting, said: float, *, by_eye: bool) -> list[Setting]:
    """The setting, or the strip about it that ``solve`` asks for (timer/measure/advise.py)."""
    if by_eye or said <= WIDE:
        return [setting]
    step = 1 / 3 if said > 2 * WIDE else 1 / 6
    return [(setting[0] * 2 ** (step * n), setting[1]) for n in (0, -2, -1, 1, 2)]


def learned(room: Darkroom, tool: Densitometer | Scanner) -> "Made":
    """Other negatives first; then this one, from what they taught."""
    here = room.a
    lessons: list[Lesson] = []
    for n in range(BEFORE):
        room.a = here + np.asarray([room.chance.gauss(0, 0.12) for _ in range(3)])
        made = solved(room, tool, first_sheet(), learn(lessons), EACH, SHEETS * (n + 1))
        lessons.append(Lesson(made.readings, (float(AIM[0]), float(AIM[1]), float(AIM[2]))))
    room.a = here
    return solved(room, tool, [START], learn(lessons))


WAYS: dict[str, Callable[[Darkroom, random.Random], "Made"]] = {
    "eye, half rule": lambda room, chance: half_rule(room, Eye(chance)),
    "read, half rule": lambda room, chance: half_rule(room, Densitometer(chance)),
    "solved, eye": lambda room, chance: solved(room, Eye(chance), [START]),
    "solved, scan": lambda room, chance: solved(room, Scanner(chance), first_sheet()),
    "solved, densitometer": lambda room, chance: solved(room, Densitometer(chance), first_sheet()),
    "learned, scan": lambda room, chance: learned(room, Scanner(chance)),
    "learned, densitometer": lambda room, chance: learned(room, Densitometer(chance)),
}


@dataclass(frozen=True)
class Row:
    """Median and 95 % of density error and cast after each sheet. ``worse``: share of steps to a larger error (the larger of
    the two) above 0.05. ``kept``: share of the sheets after the first that were within what was said of them. ``doubted``:
    share of rooms in which a sheet was said to contradict what was learned, which none does; ``left_out``: in which a patch
    was not counted, as if it were not lit as planned, which all are."""

    density: list[tuple[float, float]]
    cast: list[tuple[float, float]]
    worse: float
    kept: float | None = None
    doubted: float = 0.0
    left_out: float = 0.0


def study(rooms: int, seed: int, ways: list[str] | None = None) -> dict[str, Row]:
    out = {}
    for way in ways or WAYS:
        made = [WAYS[way](Darkroom(random.Random(seed * 1_000_003 + n)), random.Random(n)) for n in range(rooms)]
        off = np.asarray([each.prints for each in made]) - AIM
        grey = off.mean(axis=2)
        cast = np.abs(off - grey[:, :, None]).max(axis=2)
        whole = np.maximum(np.abs(grey), cast)
        worse = (whole[:, 1:] > whole[:, :-1]) & (whole[:, 1:] > 0.05)
        said = np.asarray([each.said for each in made])
        kept = round(float(np.mean(np.abs(grey)[:, 1:] <= said[:, 1:])), 4) if said.size else None
        out[way] = Row(
            _two(np.abs(grey)),
            _two(cast),
            round(float(worse.mean()), 4),
            kept,
            float(np.mean([each.doubted for each in made])),
            float(np.mean([each.left_out for each in made])),
        )
    return out


def _two(errors: Array) -> list[tuple[float, float]]:
    return [(round(float(np.median(e)), 4), round(float(np.percentile(e, 95)), 4)) for e in errors.T]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rooms", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--way", action="append", choices=list(WAYS))
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    data = study(options.rooms, options.seed, options.way)
    if options.json:
        print(json.dumps({way: vars(row) for way, row in data.items()}, indent=2))
        return
    print("density, cast: median / 95 % after sheet 1, 2, ...; share of steps that made it worse")
    for way, row in data.items():
        print(f"{way:21} density {'  '.join(f'{m:.3f}/{w:.3f}' for m, w in row.density)}")
        print(
            f"{'':21} cast    {'  '.join(f'{m:.3f}/{w:.3f}' for m, w in row.cast)}   worse {row.worse:.1%}"
            + (
                ""
                if row.kept is None
                else f"   within what was said {row.kept:.1%}   contradicted {row.doubted:.1%}   left out {row.left_out:.1%}"
            )
        )


if __name__ == "__main__":
    main()
