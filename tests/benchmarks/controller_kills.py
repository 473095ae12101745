"""The host vanishes at random moments of an exposure on the simulated controller: how soon dark, how exact the tally.

    python -m tests.benchmarks.controller_kills --points 1000 --json

A host that vanishes is a line that goes silent. Light and time to dark are the board's own, by its cycle stamps.
"""

import argparse
import json
import random
import sys
import tempfile
import time
from pathlib import Path

from tests.hil.sim import SimulatedController
from tests.tools.witness import Witness
from timer.keeper.config import Config
from timer.keeper.host.controller import connect


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--points", type=int, default=1000)
    parser.add_argument("--speed", type=float, default=2.0, help="of the simulated board, over real time")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    chance = random.Random(8)
    dark_ms, off_us = [], []
    with tempfile.TemporaryDirectory(prefix="lh-") as folder:
        witness = Witness(Path(folder) / "w")
        board = SimulatedController(witness.path, speed=options.speed)
        config = Config(folder, lamp="controller", port=board.port)
        for n in range(1, options.points + 1):
            keeper = connect(config, lambda event: None)
            keeper.expose(n, 60_000_000, now=True)
            on = witness.wait(True).at_ns
            time.sleep(chance.uniform(0, 0.15))
            witness.tell("Q")
            keeper.close()
            off = witness.wait(False, 5).at_ns
            gone = next(int(line.split()[1]) for line in reversed(witness.other) if line.startswith("now"))
            dark_ms.append(max(0.0, (off - gone) / 1e6))
            again = connect(config, lambda event: None)
            tally = again.record(n)
            again.close()
            off_us.append(abs((tally.off_us - tally.on_us) - (off - on) / 1000))
            if n % 20 == 0:
                print(f"\r{n}/{options.points}", end="", file=sys.stderr, flush=True)
        board.close()
        witness.close()
    print(file=sys.stderr)
    data = {"points": options.points, "dark_ms_max": max(dark_ms), "tally_off_us_max": max(off_us)}
    print(json.dumps(data, indent=2) if options.json else "\n".join(f"{k}: {v:.3f}" for k, v in data.items()))


if __name__ == "__main__":
    main()
