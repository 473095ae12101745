"""Sessions ended by chance between the open box and the cover, twice each: is there ever light over bare paper?

    python -m tests.benchmarks.paper_out --points 200 --json

Every byte that reaches the terminal is judged by a model of one; see tests/tools/story.py. Killed, told to end, hung up,
stopped and killed, or stopped and let on; strips and prints, black-and-white and colour; terminals of any colour, of 256,
and the Linux console.
"""

import argparse
import json
import random
import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.tools.story import story


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--points", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    ends: Counter[str] = Counter()
    faults: list[str] = []
    with tempfile.TemporaryDirectory(prefix="lh-") as folder:
        for n in range(options.points):
            place = Path(folder) / str(n)
            outcome = story(place, random.Random(options.seed * 100_000 + n))
            ends[outcome.what.split(": ")[1].split(",")[0]] += 1
            faults += [f"point {n} ({outcome.what}; ended at {outcome.ended_at}): {fault}" for fault in outcome.faults]
            shutil.rmtree(place)
            print(f"\r{n + 1}/{options.points}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    data = {"points": options.points, "first_ends": dict(ends), "faults": len(faults), "first_faults": faults[:5]}
    print(json.dumps(data, indent=2) if options.json else "\n".join(f"{key}: {value}" for key, value in data.items()))


if __name__ == "__main__":
    main()
