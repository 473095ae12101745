"""The terminal of the screen is closed in the light: how long to dark, beside the same screen told so by a signal alone.

    python -m tests.benchmarks.terminal_closed --times 50 --json

"signal" is SIGHUP to a screen whose terminal stays: what a program does that leaves it to its event loop.
"""

import argparse
import json
import os
import signal
import statistics
import sys
import tempfile
import time
from pathlib import Path

from tests.tools.terminal import DEPTHS, terminal
from tests.tools.witness import Witness


def once(how: str) -> float:
    """Milliseconds to dark."""
    with tempfile.TemporaryDirectory(prefix="lh-") as made:
        (Path(made) / "settings.toml").write_text("speech = false\nask = false\n")
        witness = Witness(Path(made) / "w")
        env = {**DEPTHS["truecolor"], "LAMPHOUSE_HOME": made, "LAMPHOUSE_WIRE": str(witness.path)}
        try:
            with terminal(**env) as term:
                term.shows("get ready", 30)
                term.keys("\r")
                term.shows("the screen goes", 30)
                term.keys("\r")
                term.shows("it is in", 30)
                term.keys("\r")
                term.shows("LIGHT", 30)
                term.light()
                witness.wait(True)
                term.read(0.5)
                if how == "closed":
                    at = term.close()
                else:
                    at = time.monotonic_ns()
                    os.kill(term.process.pid, signal.SIGHUP)
                return (witness.wait(False, 10).at_ns - at) / 1e6
        finally:
            witness.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=50)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    found: dict[str, list[float]] = {"closed": [], "signal": []}
    for n in range(options.times):
        for how, times in found.items():
            times.append(once(how))
        print(f"\r{n + 1}/{options.times}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    data = {f"{how}_ms_{name}": round(value, 2) for how, times in found.items() for name, value in
            (("median", statistics.median(times)), ("max", max(times)))}  # fmt: skip
    print(json.dumps(data, indent=2) if options.json else "\n".join(f"{key}: {value}" for key, value in data.items()))


if __name__ == "__main__":
    main()
