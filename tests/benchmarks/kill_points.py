"""Kill or stop app, keeper, guard and each pair of them, and stall the disk, at random moments of a run; say how dark,
how known, how kept; then resume, and say how far all the light there was is off what was asked.

    python -m tests.benchmarks.kill_points --points 1000 --json
    python -m tests.benchmarks.kill_points --points 300 --lamp gpio
    python -m tests.benchmarks.kill_points --points 300 --lamp controller     # in its simulator; also mute, and reset
    python -m tests.benchmarks.kill_points --points 300 --frames              # on a link that loses and doubles frames
    python -m tests.benchmarks.kill_points --points 80 --around               # the notebook held, the runtime folder gone

"off" is how far the light of any exposure that the wire saw lies outside what the notebook says after the next start;
"sum off", of all light with what was resumed, by more than the ranges allow, and than edges came late as booked. Of the controller, dark is by its own clock.
"""

import argparse
import json
import random
import shutil
import sys
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from tests.tools import stall
from tests.tools.kill import AROUND, BOARD, PAIRS, PROCESSES, Frames, Outcome, fault_once
from tests.tools.witness import on_time

VICTIMS = (*PROCESSES, *PAIRS)
LOST, DOUBLED = (0.02, 0.25), (0.0, 0.2)
"""Shares of frames, from and to."""
HELD_S = (0.5, 9.0)
"""How long another program holds the notebook; a program of ours waits for five seconds."""


def summary(outcomes: list[Outcome]) -> dict[str, dict[str, Any]]:
    """A row for each victim and kind of fault: (killed, stopped)."""
    out: dict[str, dict[str, Any]] = {}
    for name in dict.fromkeys(f"{o.victim} {o.fault.split()[0]}" for o in outcomes):
        mine = [o for o in outcomes if f"{o.victim} {o.fault.split()[0]}" == name]
        widths = [o.width_ms for o in mine if o.width_ms is not None]
        sums = [o.sum_off_ms for o in mine if o.sum_off_ms is not None]
        out[name] = {
            "points": len(mine),
            "dark_ms_max": max(o.dark_ms for o in mine),
            "off_ms_max": max(o.off_ms for o in mine),
            "off_over_1_ms": sum(o.off_ms > 1 for o in mine),
            "known": sum(o.width_ms == 0 for o in mine),
            "range_ms_max": max(widths, default=0.0),
            "open_ranges": len(mine) - len(widths),
            "sums": len(sums),
            "sums_known": sum(o.sum_known for o in mine),
            "sum_off_ms_max": max(sums, default=0.0),
            "late_ms_max": max(o.late_ms for o in mine),
            "records_lost": sum(not o.committed_kept for o in mine),
            "hung": sum(o.hung for o in mine),
            "finished_wrongly": sum(o.finished_wrongly for o in mine),
        }
    return out


def around(n: int, folder: Path, chance: random.Random, lamp: str) -> Outcome:
    """The ``n``-th fault of what is around a run: each in turn."""
    victim = AROUND[n % len(AROUND)]
    return fault_once(
        folder, victim, chance, stop_s=chance.uniform(*HELD_S) if victim == "lock" else 0.0, lamp=lamp, resumed=True
    )


def point(n: int, folder: Path, chance: random.Random, lamp: str, disk: stall.Disk | None, *, frames: bool) -> Outcome:
    """The ``n``-th fault: killed and stopped in turn, each victim in turn, every tenth the disk."""
    stop_s = chance.uniform(0.1, 5.0) if n % 2 else 0.0
    spoilt = Frames(chance.uniform(*LOST), chance.uniform(*DOUBLED)) if frames else None
    if disk and n % 10 == 9:
        return fault_once(
            folder, "disk", chance, stop_s=chance.uniform(0.5, 5.0), lamp=lamp, disk=disk, frames=spoilt, resumed=True
        )
    # Of a link with faults every second point has those alone.
    victims = BOARD if lamp == "controller" else VICTIMS
    victim = "" if frames and n // 2 % 2 else victims[n // (4 if frames else 2) % len(victims)]
    stop_s = 0.0 if victim in ("", "board") else chance.uniform(0.1, 5.0) if victim == "line" else stop_s
    return fault_once(folder, victim, chance, stop_s=stop_s, lamp=lamp, frames=spoilt, resumed=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--points", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0, help="the first point's number: one is the same again by itself")
    parser.add_argument("--minutes", type=float, default=float("inf"), help="no point is begun after so long")
    parser.add_argument("--seed", type=int, default=2)
    parser.add_argument(
        "--lamp", choices=["simulated", "gpio", "controller"], default="simulated", help="gpio: on mock pins"
    )
    parser.add_argument("--frames", action="store_true", help="lost and doubled, on the link between program and keeper")
    parser.add_argument("--around", action="store_true", help="what is around a run fails, not its processes alone")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    outcomes = []
    end = time.monotonic() + options.minutes * 60
    on_time()  # whoever holds the interpreter holds up the witness
    with tempfile.TemporaryDirectory(prefix="lh-") as folder, ExitStack() as held:
        no_stalls = stall.possible()
        slow = None if no_stalls else held.enter_context(stall.disk(Path(folder)))
        if no_stalls:
            print(f"no stalls of the disk: {no_stalls}", file=sys.stderr)
        for n in range(options.first, options.first + options.points):
            place, chance = Path(folder) / str(n), random.Random(f"{options.seed} {n}")
            if options.around:
                outcome = around(n, place, chance, options.lamp)
            else:
                outcome = point(n, place, chance, options.lamp, slow, frames=options.frames)
            outcomes.append(outcome)
            shutil.rmtree(place)
            if outcome.off_ms > 1 or (outcome.sum_off_ms or 0) > 5 or outcome.finished_wrongly or outcome.hung:
                print(f"\r{n}: {outcome}", file=sys.stderr, flush=True)
            if time.monotonic() > end:
                break
            if n % 20 == 19:
                print(f"\r{n + 1}/{options.points}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    data = summary(outcomes)
    if options.json:
        print(json.dumps(data, indent=2))
        return
    for name, s in data.items():
        print(
            f"{name:22} {s['points']:4}: dark within {s['dark_ms_max']:6.1f} ms, light off by at most {s['off_ms_max']:.3f} ms, "
            f"{s['known']} known, range at most {s['range_ms_max']:.1f} ms, {s['open_ranges']} open; {s['sums']} sums, "
            f"{s['sums_known']} of points, off by at most {s['sum_off_ms_max']:.3f} ms "
            f"(edges late by {s['late_ms_max']:.1f}); {s['records_lost']} lost, {s['hung']} hung, "
            f"{s['finished_wrongly']} wrongly finished"
        )


if __name__ == "__main__":
    main()
