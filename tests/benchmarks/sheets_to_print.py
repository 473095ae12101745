"""How many sheets until the print is right: plain seconds as the trade does it, against this tool's own advice.

    python -m tests.benchmarks.sheets_to_print --prints 500 --json

Each print has a negative, a paper and a lamp of chance: a right exposure within 1.5 stops of the first guess, a right
pack some 15 CC off in magenta and yellow, a lamp that loses up to 0.2 s a start. The same eye judges both ways: it errs
by 0.08 stop and 3 CC, one standard deviation. A print is right within 0.1 stop and 5 CC; the printer stops when the
print is right, or after 30 sheets. What the two ways differ in:

  seconds  a strip of 5, 10, 15, 20, 25 s in bursts, its nearest band taken; later changes in whole seconds; casts
           corrected by 5, 10 or 20 with the complement's direction taken one time in three (until it is seen to get worse),
           the time left as it was when filters change.
  advice   a window strip of half stops read between its patches; then density in stops; casts by half the viewing
           filter in the right direction, the time following the pack, and halved when a correction reverses.

The behaviour of "seconds" is a judgement of common practice, not a measurement of people: read the result so.
"""

import argparse
import json
import math
import random
import statistics
from dataclasses import dataclass
from fractions import Fraction

from timer.craft import filters as colour_filters
from timer.craft.lamp_response import LampResponse, full_light, on_time
from timer.craft.read_strip import seconds_at
from timer.craft.stops import stops_between
from timer.craft.strip import patches

MOST = 30
TOLERANCE_STOPS, TOLERANCE_CC = 0.1, 5.0
EYE_STOPS, EYE_CC = 0.08, 3.0
START = colour_filters.Pack(0, 60, 50)


@dataclass(frozen=True)
class Truth:
    """What this negative needs on this paper: full-light seconds with its right pack, and what the lamp loses."""

    seconds: float
    pack: colour_filters.Pack
    lamp: LampResponse

    def off(self, light: float, pack: colour_filters.Pack) -> float:
        """Stops too dark (positive) of a print with ``light`` full-light seconds through ``pack`` (a dial head)."""
        return stops_between(self.seconds * colour_filters.dial_change(self.pack, pack)[0], light)

    def casts(self, pack: colour_filters.Pack) -> tuple[float, float]:
        """CC too little of magenta and yellow in the pack."""
        return self.pack.m - pack.m, self.pack.y - pack.y

    def right(self, light: float, pack: colour_filters.Pack) -> bool:
        return abs(self.off(light, pack)) <= TOLERANCE_STOPS and max(map(abs, self.casts(pack))) <= TOLERANCE_CC


def chance_truth(chance: random.Random) -> Truth:
    pack = colour_filters.Pack(0, max(0.0, 60 + chance.gauss(0, 15)), max(0.0, 50 + chance.gauss(0, 15)))
    return Truth(10 * 2 ** chance.uniform(-1.5, 1.5), pack, LampResponse(chance.uniform(0, 0.1), chance.uniform(0.01, 0.1)))


class Eye:
    def __init__(self, chance: random.Random) -> None:
        self._chance = chance

    def density(self, truth: Truth, light: float, pack: colour_filters.Pack) -> float:
        return truth.off(light, pack) + self._chance.gauss(0, EYE_STOPS)

    def casts(self, truth: Truth, pack: colour_filters.Pack) -> tuple[float, float]:
        m, y = truth.casts(pack)
        return m + self._chance.gauss(0, EYE_CC), y + self._chance.gauss(0, EYE_CC)


def by_seconds(truth: Truth, chance: random.Random) -> int:
    """Sheets used, the strip among them."""
    eye, pack = Eye(chance), START
    burst = full_light(5.0, truth.lamp)
    seen = [eye.density(truth, burst * n, pack) for n in range(1, 6)]
    seconds = 5.0 * (1 + min(range(5), key=lambda n: abs(seen[n])))
    if min(seen) > 0.7:
        seconds = 3.0
    sheets = 1
    wrong = {axis: chance.random() < 1 / 3 for axis in "my"}
    before = {"m": math.inf, "y": math.inf}
    while sheets < MOST:
        sheets += 1
        light = full_light(seconds, truth.lamp)
        if truth.right(light, pack):
            return sheets
        off = eye.density(truth, light, pack)
        if abs(off) > TOLERANCE_STOPS:
            # Plain seconds, by feel: about a fifth for what is seen, two fifths for much, a second at the least.
            share = 0.2 if abs(off) < 0.4 else 0.4 if abs(off) < 0.9 else 0.8
            change = max(1.0, round(seconds * share))
            seconds = max(1.0, seconds - change) if off > 0 else seconds + change
            if abs(off) > 0.35:
                continue  # density first
        for axis, cast in zip("my", eye.casts(truth, pack), strict=True):
            if abs(cast) <= TOLERANCE_CC:
                continue
            if wrong[axis] and abs(cast) > before[axis] + 3:
                wrong[axis] = False  # it got worse: now the right way
            before[axis] = abs(cast)
            size = math.copysign(20.0 if abs(cast) > 18 else 10.0 if abs(cast) > 9 else 5.0, cast) * (
                -1 if wrong[axis] else 1
            )
            pack = (
                colour_filters.Pack(0, max(0.0, pack.m + size), pack.y)
                if axis == "m"
                else colour_filters.Pack(0, pack.m, max(0.0, pack.y + size))
            )
    return sheets


def by_advice(truth: Truth, chance: random.Random) -> int:
    """The same with the tool: its strip, its reading, its casts, its times; the lamp calibrated."""
    eye, pack = Eye(chance), START
    strip = patches(10.0, Fraction(1, 2), 7, around=True)
    given = [full_light(on_time(p.seconds, truth.lamp), truth.lamp) for p in strip]
    seen = [eye.density(truth, light, pack) for light in given]
    place = next((n for n in range(6) if seen[n] <= 0 < seen[n + 1]), None)
    if place is None:
        seconds = given[0] / 2 ** seen[0] if seen[0] > 0 else given[-1] / 2 ** seen[-1]
    else:
        seconds = seconds_at(given, place + 1 + seen[place] / (seen[place] - seen[place + 1]))
    # A strip shows the cast as well as the density: its best patch is looked at for both.
    casts = eye.casts(truth, pack)
    sheets, last = 1, {"m": 0.0, "y": 0.0}
    while sheets < MOST:
        new = {}
        for axis, cast, now in zip("my", casts, (pack.m, pack.y), strict=True):
            # The viewing filter that makes it right is twice what the pack needs: half of it, in the right direction.
            step = colour_filters.from_viewing(2 * cast) if abs(cast) > TOLERANCE_CC / 2 else 0.0
            if step * last[axis] < 0:
                step = math.copysign(min(abs(step), abs(last[axis]) / 2), step)
            last[axis] = step or last[axis]
            new[axis] = max(0.0, now + step)
        after = colour_filters.Pack(0, new["m"], new["y"])
        seconds *= colour_filters.dial_change(pack, after)[0]
        pack = after
        sheets += 1
        light = full_light(on_time(seconds, truth.lamp), truth.lamp)
        if truth.right(light, pack):
            return sheets
        off = eye.density(truth, light, pack)
        if abs(off) > TOLERANCE_STOPS / 2:
            seconds /= 2**off
        casts = eye.casts(truth, pack)
    return sheets


def study(prints: int, seed: int) -> dict[str, dict[str, float]]:
    counts: dict[str, list[int]] = {"seconds": [], "advice": []}
    for n in range(prints):
        truth = chance_truth(random.Random(seed * 1_000_003 + n))
        counts["seconds"].append(by_seconds(truth, random.Random(n)))
        counts["advice"].append(by_advice(truth, random.Random(n)))
    return {
        way: {
            "median": statistics.median(sheets),
            "mean": statistics.mean(sheets),
            "worst_tenth": sorted(sheets)[int(0.9 * len(sheets))],
            "never": sum(s >= MOST for s in sheets),
        }
        for way, sheets in counts.items()
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--prints", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    data = study(options.prints, options.seed)
    if options.json:
        print(json.dumps(data, indent=2))
        return
    for way, s in data.items():
        print(
            f"{way:8} median {s['median']:g} sheets, mean {s['mean']:.1f}, worst tenth {s['worst_tenth']}, never {s['never']}"
        )


if __name__ == "__main__":
    main()
