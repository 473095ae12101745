"""Kill app, keeper or both at random moments of a run; say how dark, how known, how kept.

    python -m tests.benchmarks.kill_points --points 1000 --json

"off" is how far the light that the wire saw lies outside what the notebook says after the next start.
"""

import argparse
import json
import random
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests.tools.kill import Outcome, kill_once

VICTIMS = ("app", "keeper", "both")


def summary(outcomes: list[Outcome]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for victim in VICTIMS:
        mine = [o for o in outcomes if o.victim == victim]
        if mine:
            out[victim] = {
                "points": len(mine),
                "dark_ms_max": max(o.dark_ms for o in mine),
                "off_ms_max": max(o.off_ms for o in mine),
                "range_ms_max": max(o.width_ms for o in mine),
                "records_lost": sum(not o.committed_kept for o in mine),
            }
    return out


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--points", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=2)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    chance = random.Random(options.seed)
    outcomes = []
    with tempfile.TemporaryDirectory(prefix="lh-") as folder:
        for n in range(options.points):
            place = Path(folder) / str(n)
            outcomes.append(kill_once(place, VICTIMS[n % 3], chance))
            shutil.rmtree(place)
            if n % 20 == 19:
                print(f"\r{n + 1}/{options.points}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    data = summary(outcomes)
    if options.json:
        print(json.dumps(data, indent=2))
        return
    for victim, s in data.items():
        print(
            f"{victim:7} {s['points']:5} kills: dark within {s['dark_ms_max']:.1f} ms, light off by at most "
            f"{s['off_ms_max']:.3f} ms, range at most {s['range_ms_max']:.1f} ms, records lost {s['records_lost']}"
        )


if __name__ == "__main__":
    main()
