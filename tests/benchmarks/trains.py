"""Trains of keys and pedals, held, doubled, bounced, two at once: never two lights a press, and none without.

python -m tests.benchmarks.trains --trains 1000 --json
"""

import argparse
import asyncio
import json
import os
import random
import sys
import tempfile
from pathlib import Path

from tests.tools.trains import Trains, trains
from tests.tools.witness import Witness

A_STRIP = 20


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trains", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    chance = random.Random(options.seed)
    found: list[Trains] = []
    while sum(each.presses for each in found) < options.trains:
        with tempfile.TemporaryDirectory(prefix="lh-") as made:
            home = Path(made)
            witness = Witness(home / "w")
            os.environ.update(LAMPHOUSE_HOME=made, LAMPHOUSE_WIRE=str(witness.path), TERM="xterm-256color")
            try:
                found.append(asyncio.run(trains(home, witness, chance, A_STRIP)))
            finally:
                witness.close()
        print(f"\r{sum(each.presses for each in found)}/{options.trains}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    faults = [fault for each in found for fault in each.faults]
    data = {
        "presses": sum(each.presses for each in found),
        "lights": sum(each.lights for each in found),
        "faults": len(faults),
        "first_faults": faults[:5],
    }
    print(json.dumps(data, indent=2) if options.json else "\n".join(f"{key}: {value}" for key, value in data.items()))


if __name__ == "__main__":
    main()
