"""Eight exposures of 1 s against one of 8 s, through whole sessions, on every filament of the bench.

    python -m tests.benchmarks.bursts
    python -m tests.benchmarks.bursts --lamp halogen-24v-250w --pauses 0.5 2 --json
    python -m tests.benchmarks.bursts --functions

Each lamp is calibrated as its owner would: a sensor's traces of it, `lamphouse calibrate trace --keep`. Then two recipes
are printed in time-lapse, one of a base of 8 s, one of a base of 1 s and seven burns of as much; the simulated lamp tells
what light that filament, as warm as it is, gave in each band. Off is the light of the eight over that of the one, in
stops: on graded paper; in each layer of colour paper timed by that layer's own response; and, beside it, uncorrected,
and with the one response that a run of colour paper has for its three layers, which is why colour strips are made by
window. The same edges are then given to a second filament (tests/bench/reference_lamp.py), which shares no code.

``--functions`` asks the pure functions for the times instead, with no session and no keeper: what a run would do that
knows how long its lamp has rested. The exit code is 1 when a bar is missed: 0.005 stop on graded paper, 0.01 in each
layer, 0.01 by the second filament.
"""

import argparse
import itertools
import json
import math
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.bench.reference_lamp import ReferenceLamp, reference
from tests.tools.witness import Witness
from timer.bench import filament, lamps
from timer.craft.lamp_response import INSTANT, LampResponse, on_time

COUNT, SECONDS = 8, 1.0
TRIES = 4
LAYERS = ("red", "green", "blue")
USES = ("graded", *LAYERS)
BARS = {"graded": 0.005, **dict.fromkeys(LAYERS, 0.01)}
BY_REFERENCE = 0.01
RECIPE = 'recipe = 1\ntitle = "{title}"\nbase_s = {base}\n[paper]\nkind = "{kind}"\n'
BURN = '[[burn]]\narea = "burn {n}"\nstops = 1\n'


@dataclass(frozen=True)
class Row:
    """One lamp, use and pause: stops off, by the lamp itself and by the second filament; seconds of dark there were."""

    lamp: str
    use: str
    asked_pause: float
    dark_s: float
    uncorrected: float
    corrected: float
    by_reference: float
    layers: tuple[float, ...] = ()

    @property
    def missed(self) -> bool:
        return abs(self.corrected) > BARS[self.use] or abs(self.by_reference) > BY_REFERENCE


class SpoiltError(Exception):
    """A command that failed."""


Bursts = list[tuple[float, float]]


class Darkroom:
    """A home of its own: settings, notebook, and a wire that the simulated lamp is seen by."""

    def __init__(self, folder: Path, lamp: str) -> None:
        self.folder, self.lamp = folder, lamp
        folder.mkdir(parents=True)
        self._settings = folder / "settings.toml"
        self._settings.write_text(f'simulated_bulb = "{lamp}"\nsound = "off"\nspeech = false\n')
        for name, base, burns in (("one", COUNT * SECONDS, 0), ("eight", SECONDS, COUNT - 1)):
            for kind in ("bw", "ra4"):
                text = RECIPE.format(title=name, base=base, kind=kind) + "".join(BURN.format(n=n) for n in range(burns))
                (folder / f"{name}-{kind}.toml").write_text(text)

    def command(self, *arguments: str, **env: str) -> None:
        done = subprocess.run(
            [sys.executable, "-m", "timer.cli", *arguments],
            env=os.environ | {"LAMPHOUSE_HOME": str(self.folder)} | env,
            capture_output=True,
            text=True,
            cwd=self.folder,
        )
        if done.returncode:
            raise SpoiltError(f"lamphouse {' '.join(arguments)}: {done.returncode}\n{done.stdout}{done.stderr}")

    def calibrate(self, use: str) -> None:
        """As the owner: three traces, and their response into the settings, for colour paper where it is a layer's."""
        lights = {"long": ("--on", "8"), "short": ("--on", "0.25"), "again": ("--on", "2", "--rests", "0.4,1,3,8")}
        for file, how in lights.items():
            self.command("bench", "trace", "--lamp", self.lamp, "--band", use, *how, "-o", f"{file}.csv")
        kept_for = "graded" if use == "graded" else "colour"
        self.command("calibrate", "trace", "long.csv", "short.csv", "--again", "again.csv", "--use", kept_for, "--keep")

    def printed(self, name: str, kind: str, pause: float, speed: float) -> tuple[Bursts, dict[str, float]]:
        """The lamp's own edges, in its seconds, and the light it gave in each band.

        On a busy machine a time-lapse may lose its keeper, which then is dark: such a sheet is made again.
        """
        for _ in range(TRIES - 1):
            try:
                return self._printed(name, kind, pause, speed)
            except SpoiltError as error:
                print(f"made again: {str(error).splitlines()[0]}", file=sys.stderr)
        return self._printed(name, kind, pause, speed)

    def _printed(self, name: str, kind: str, pause: float, speed: float) -> tuple[Bursts, dict[str, float]]:
        wire = Path(tempfile.mkdtemp(dir=self.folder)) / "w"
        witness = Witness(wire)
        try:
            how = ("--advance", "auto", "--pause", f"{pause}", "--speed", f"{speed}")
            self.command("print", f"{name}-{kind}.toml", *how, LAMPHOUSE_WIRE=str(wire))
            exposures = COUNT if name == "eight" else 1
            _wait(lambda: sum(line.startswith("B") for line in witness.other) >= exposures)
            times = [edge.at_ns * speed / 1e9 for edge in witness.edges]
            told = [line for line in witness.other if line.startswith("B")]
        finally:
            witness.close()
        begin = times[0]
        bursts = [(on - begin, off - begin) for on, off in zip(times[::2], times[1::2], strict=False)]
        assert len(bursts) == len(told) == exposures, (bursts, told)
        light = dict.fromkeys(lamps.USES, 0.0)
        for line in told:
            for part in line.split()[1:]:
                band, _, dose = part.partition("=")
                light[band] += float(dose)
        return bursts, light


def _wait(reached: "object", seconds: float = 10.0) -> None:
    assert callable(reached)
    end = time.monotonic() + seconds
    while not reached():
        assert time.monotonic() < end, "the lamp did not tell of all its light"
        threading.Event().wait(0.02)


def second(name: str) -> ReferenceLamp:
    lamp = filament.PRESETS[name]
    return reference(lamp.volts, lamp.watts, lamp.kelvin, lamp.conducted, lamp.source)


def stops(many: float, one: float) -> float:
    return math.log2(many / one)


# ── through sessions ─────────────────────────────────────────────────────────


def by_sessions(folder: Path, lamp: str, pauses: Sequence[float], uses: Sequence[str]) -> list[Row]:
    plain = Darkroom(folder / "plain", lamp)
    rows = []
    raw = {}
    for pause in pauses:
        many, one = (
            plain.printed("eight", "bw", pause, _speed(pause)),
            plain.printed("one", "bw", pause, _speed(pause)),
        )
        raw[pause] = {band: stops(many[1][band], one[1][band]) for band in lamps.USES}
    for use in uses:
        room = Darkroom(folder / use, lamp)
        room.calibrate(use)
        kind = "bw" if use == "graded" else "ra4"
        for pause in pauses:
            bursts, light = room.printed("eight", kind, pause, _speed(pause))
            alone, whole = room.printed("one", kind, pause, _speed(pause))
            judge = second(lamp)
            dark = [on - off for (_, off), (on, _) in itertools.pairwise(bursts)]
            shifted = tuple(stops(light[layer], whole[layer]) for layer in LAYERS) if use == "green" else ()
            rows.append(
                Row(
                    lamp,
                    use,
                    pause,
                    sum(dark) / len(dark),
                    raw[pause][use],
                    stops(light[use], whole[use]),
                    stops(sum(judge.doses(bursts, use)), sum(judge.doses(alone, use))),
                    shifted,
                )
            )
    return rows


def _speed(pause: float) -> float:
    """Slow enough that what a session does between exposures adds little to a short pause."""
    return 5.0 if pause < 1 else 10.0 if pause <= 5 else 30.0


# ── through the functions alone ──────────────────────────────────────────────


def by_functions(lamp: str, pauses: Sequence[float], uses: Sequence[str]) -> list[Row]:
    rows, judge = [], second(lamp)
    for use in uses:
        response = lamps.response_of(lamp, use)
        for pause in pauses:
            (raw, _), (bursts, alone) = (_timed(by, pause) for by in (INSTANT, response))
            many, one = (_light(lamp, each) for each in (bursts, alone))
            shifted = tuple(stops(many[layer], one[layer]) for layer in LAYERS) if use == "green" else ()
            plain, plain_one = (_light(lamp, each)[use] for each in (raw, [(0.0, COUNT * SECONDS)]))
            by_reference = stops(sum(judge.doses(bursts, use)), sum(judge.doses(alone, use)))
            off = stops(many[use], one[use])
            rows.append(Row(lamp, use, pause, pause, stops(plain, plain_one), off, by_reference, shifted))
    return rows


def _timed(response: LampResponse, pause: float) -> tuple[Bursts, Bursts]:
    bursts: Bursts = []
    begin = 0.0
    for n in range(COUNT):
        end = begin + on_time(SECONDS, response, pause if n else math.inf)
        bursts.append((begin, end))
        begin = end + pause
    return bursts, [(0.0, on_time(COUNT * SECONDS, response))]


def _light(lamp: str, bursts: Bursts) -> dict[str, float]:
    given = lamps.doses(lamps.LAMPS[lamp], bursts, lamps.USES)
    return {band: sum(dose[band] for dose in given) for band in lamps.USES}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--lamp", choices=list(filament.PRESETS), nargs="*", default=list(filament.PRESETS))
    parser.add_argument("--pauses", type=float, nargs="*", default=[0.5, 2.0, 5.0, 30.0])
    parser.add_argument("--uses", choices=USES, nargs="*", default=list(USES))
    parser.add_argument("--functions", action="store_true")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    rows: list[Row] = []
    head = f"{'lamp':29} {'use':7} {'pause':>5} {'dark':>6}  {'uncorrected':>11} {'corrected':>10} {'reference':>10}"
    if not options.json:
        print(head, flush=True)
    with tempfile.TemporaryDirectory(prefix="lh-") as folder:
        for lamp in options.lamp:
            if options.functions:
                made = by_functions(lamp, options.pauses, options.uses)
            else:
                made = by_sessions(Path(folder) / lamp, lamp, options.pauses, options.uses)
            rows += made
            for row in () if options.json else made:
                print(
                    f"{row.lamp:29} {row.use:7} {row.asked_pause:5g} {row.dark_s:6.2f}  {row.uncorrected:+11.4f} "
                    f"{row.corrected:+10.4f} {row.by_reference:+10.4f}{'  MISSED' if row.missed else ''}"
                )
    if options.json:
        print(json.dumps([row.__dict__ | {"missed": row.missed} for row in rows], indent=1))
    else:
        _say(rows)
    sys.exit(any(row.missed for row in rows))


def _say(rows: list[Row]) -> None:
    for use in USES:
        mine = [row for row in rows if row.use == use]
        if mine:
            worst = max(mine, key=lambda row: abs(row.corrected))
            far = max(mine, key=lambda row: abs(row.by_reference))
            print(
                f"{use:7} worst {worst.corrected:+.4f} stop ({worst.lamp}, {worst.asked_pause:g} s), bar {BARS[use]}; "
                f"by the second filament {far.by_reference:+.4f}, bar {BY_REFERENCE}"
            )
    one = [row for row in rows if row.layers]
    if one:
        most = max(one, key=lambda row: max(row.layers) - min(row.layers))
        apart = "  ".join(f"{layer} {off:+.3f}" for layer, off in zip(LAYERS, most.layers, strict=True))
        print(f"three layers by one response, at worst: {apart} ({most.lamp}, {most.asked_pause:g} s)")


if __name__ == "__main__":
    main()
