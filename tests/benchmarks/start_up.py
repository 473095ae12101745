"""How long each command takes to be there, beside a bare interpreter: ``--help`` of every command, and the plan of a strip.

python -m tests.benchmarks.start_up
"""

import argparse
import json
import statistics
import subprocess
import sys
import tempfile
import time
from os import environ

import click

from timer.cli import cli

PEER = ["-c", "pass"]


def commands() -> list[list[str]]:
    found = [[name, "--help"] for name in sorted(cli.list_commands(click.Context(cli)))]
    return [*found, ["strip", "--from", "8", "--show"], ["lamp", "status"]]


def seconds(words: list[str], times: int) -> float:
    """The median of ``times`` whole processes."""
    took = []
    with tempfile.TemporaryDirectory() as home:
        for _ in range(times):
            begin = time.perf_counter()
            subprocess.run(
                [sys.executable, *words], capture_output=True, env={**environ, "LAMPHOUSE_HOME": home}, check=False
            )
            took.append(time.perf_counter() - begin)
    return statistics.median(took)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=5)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    peer = seconds(PEER, options.times)
    rows = {" ".join(words): seconds(["-m", "tui", *words], options.times) for words in commands()}
    if options.json:
        print(json.dumps({"interpreter_s": peer, "commands_s": rows}))
        return
    print(f"a bare interpreter: {peer * 1000:.0f} ms")
    for name, took in sorted(rows.items(), key=lambda row: -row[1]):
        print(f"{took * 1000:6.0f} ms  x {took / peer:4.1f}  {name}")


if __name__ == "__main__":
    main()
