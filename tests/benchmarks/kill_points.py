"""Kill or stop app, keeper, guard and each pair of them, and stall the disk, at random moments of a run; say how dark,
how known, how kept.

    python -m tests.benchmarks.kill_points --points 1000 --json
    python -m tests.benchmarks.kill_points --points 300 --lamp gpio

"off" is how far the light that the wire saw lies outside what the notebook says after the next start.
"""

import argparse
import json
import random
import shutil
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from tests.tools import stall
from tests.tools.kill import PAIRS, PROCESSES, Outcome, fault_once
from tests.tools.witness import on_time

VICTIMS = (*PROCESSES, *PAIRS)


def summary(outcomes: list[Outcome]) -> dict[str, dict[str, Any]]:
    """A row for each victim and kind of fault: (killed, stopped)."""
    out: dict[str, dict[str, Any]] = {}
    for victim in (*VICTIMS, "disk"):
        for fault in ("killed", "stopped", "stalled"):
            mine = [o for o in outcomes if o.victim == victim and o.fault.startswith(fault)]
            if not mine:
                continue
            known = [o.width_ms for o in mine if o.high_s is not None]
            out[f"{victim} {fault}"] = {
                "points": len(mine),
                "dark_ms_max": max(o.dark_ms for o in mine),
                "off_ms_max": max(o.off_ms for o in mine),
                "range_ms_max": max(known, default=0.0),
                "open_ranges": len(mine) - len(known),
                "records_lost": sum(not o.committed_kept for o in mine),
                "finished_wrongly": sum(o.finished_wrongly for o in mine),
            }
    return out


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--points", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=2)
    parser.add_argument("--lamp", choices=["simulated", "gpio"], default="simulated", help="gpio: on mock pins")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    chance = random.Random(options.seed)
    outcomes = []
    on_time()  # whoever holds the interpreter holds up the witness
    with tempfile.TemporaryDirectory(prefix="lh-") as folder, ExitStack() as held:
        no_stalls = stall.possible()
        slow = None if no_stalls else held.enter_context(stall.disk(Path(folder)))
        if no_stalls:
            print(f"no stalls of the disk: {no_stalls}", file=sys.stderr)
        for n in range(options.points):
            place = Path(folder) / str(n)
            if slow and n % 10 == 9:
                outcome = fault_once(place, "disk", chance, stop_s=chance.uniform(0.5, 5.0), lamp=options.lamp, disk=slow)
            else:
                stop_s = chance.uniform(0.1, 5.0) if n % 2 else 0.0
                outcome = fault_once(place, VICTIMS[n // 2 % len(VICTIMS)], chance, stop_s=stop_s, lamp=options.lamp)
            outcomes.append(outcome)
            shutil.rmtree(place)
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
            f"range at most {s['range_ms_max']:.1f} ms, {s['open_ranges']} open, {s['records_lost']} lost, "
            f"{s['finished_wrongly']} wrongly finished"
        )


if __name__ == "__main__":
    main()
