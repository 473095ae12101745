"""Lamp-on time of the local keeper against two naive peers, and footswitch to light, on mock pins, cores saturated.

    python -m tests.benchmarks.edge_timing --json

Every contender switches the same wired mock pin, which stamps its own edges. Peers: gpiozero's LED.blink(n=1), and
asyncio.sleep between on and off inside a Textual app. ``--idle`` leaves the cores alone.
"""

import argparse
import json
import multiprocessing
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.tools.wired_pins import LAMP, install_wired
from tests.tools.witness import Witness
from timer.keeper.config import Config
from timer.keeper.host.local import start_local
from timer.keeper.wire import messages
from timer.notebook.rows import new_name

BLINK = """
import sys, time
from gpiozero import LED
count, on = int(sys.argv[1]), float(sys.argv[2])
lamp = LED(int(sys.argv[3]))
for _ in range(count):
    lamp.blink(on_time=on, off_time=0, n=1, background=False)
    time.sleep(0.01)
"""
BARE = """
import json, os, sys, time
try:
    os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(50))
except PermissionError:
    pass
late = []
for _ in range(int(sys.argv[1])):
    due = time.monotonic_ns() + round(float(sys.argv[2]) * 1e9)
    time.sleep(float(sys.argv[2]) - 0.0007)
    while time.monotonic_ns() < due:
        pass
    late.append((time.monotonic_ns() - due) / 1000)
print(json.dumps(late))
"""
TEXTUAL = """
import asyncio, sys
from gpiozero import LED
from textual.app import App
from textual.widgets import Digits
count, on = int(sys.argv[1]), float(sys.argv[2])
class Naive(App):
    def compose(self):
        yield Digits("0")
    async def on_mount(self):
        self.set_interval(0.1, lambda: self.query_one(Digits).update("1"))
        self.run_worker(self.work())
    async def work(self):
        lamp = LED(int(sys.argv[3]))
        for _ in range(count):
            lamp.on()
            await asyncio.sleep(on)
            lamp.off()
            await asyncio.sleep(0.01)
        self.exit()
Naive().run(headless=True)
"""


def burn() -> None:
    while True:
        pass


@contextmanager
def load(on: bool) -> Iterator[None]:
    """Every core busy with ordinary work."""
    burners = [multiprocessing.Process(target=burn, daemon=True) for _ in range(os.cpu_count() or 1)] if on else []
    for each in burners:
        each.start()
    time.sleep(0.3)
    yield
    for each in burners:
        each.kill()


def ours(
    folder: Path, count: int, on_s: float, env: dict[str, str], presses_wanted: int | None = None
) -> tuple[list[float], list[float]]:
    """Errors of on-time in µs, and press-to-light times in µs."""
    witness = Witness(folder / "w")
    os.environ.update(env)
    dark: list[messages.Dark] = []

    def hear(event: object) -> None:
        if isinstance(event, messages.Dark):
            dark.append(event)

    on_us, base = round(on_s * 1e6), new_name()  # a lamp remembers, whoever asks
    with start_local(Config(str(folder), lamp="gpio", lamp_pin=LAMP), hear) as keeper:
        for n in range(count):
            keeper.expose(base + n, on_us, now=True)
            _until(lambda n=n: len(dark) > n)
            time.sleep(0.01)
        errors = [ns / 1000 - on_us for ns in witness.exposures_ns()]
        presses = []
        for n in range(presses_wanted if presses_wanted is not None else max(100, count // 5)):
            before = len(witness.edges)
            keeper.expose(base + 10**6 + n, 5000, now=False)
            time.sleep(0.31)
            witness.tell("P1")
            witness.wait(False, more_than=before + 1)
            pressed = int(next(line for line in reversed(witness.other) if line.startswith("pressed")).split()[1])
            presses.append((witness.edges[before].at_ns - pressed) / 1000)
            time.sleep(0.12)  # what the cable might pick up of the lamp's own edge is over: the release is seen
            witness.tell("P0")
    witness.close()
    return errors, presses


def peer(script: str, folder: Path, count: int, on_s: float, env: dict[str, str]) -> list[float]:
    witness = Witness(folder / "w")
    done = subprocess.run([sys.executable, "-c", script, str(count), str(on_s), str(LAMP)], env={**os.environ, **env})
    assert done.returncode == 0
    errors = [ns / 1000 - on_s * 1e6 for ns in witness.exposures_ns()]
    witness.close()
    assert len(errors) >= count
    return errors


def floor(count: int, on_s: float) -> list[float]:
    """How late, in µs, a process that does nothing but sleep and spin is here at the keeper's priority."""
    done = subprocess.run([sys.executable, "-c", BARE, str(count), str(on_s)], capture_output=True, check=True)
    return [float(us) for us in json.loads(done.stdout)]


def _until(true: Any) -> None:
    while not true():
        time.sleep(0.001)


def figures(values: list[float]) -> dict[str, float]:
    size = sorted(abs(v) for v in values)
    return {
        "count": len(size),
        "p50_us": size[len(size) // 2],
        "p99_us": size[min(len(size) - 1, int(len(size) * 0.99))],
        "p99_9_us": size[min(len(size) - 1, int(len(size) * 0.999))],
        "max_us": size[-1],
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--on", type=float, default=0.02, help="seconds of light in each exposure")
    parser.add_argument("--idle", action="store_true")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    data: dict[str, Any] = {}
    with load(not options.idle):
        data["machine"] = figures(floor(options.count, options.on))
        for name in ("keeper", "blink", "textual"):
            with tempfile.TemporaryDirectory(prefix="lh-") as made:
                folder = Path(made)
                env = install_wired(folder, folder / "w")
                if name == "keeper":
                    errors, presses = ours(folder, options.count, options.on, env)
                    data["press_to_light"] = figures(presses)
                else:
                    errors = peer(BLINK if name == "blink" else TEXTUAL, folder, options.count, options.on, env)
                data[name] = figures(errors)
    for name in ("blink", "textual"):
        data[name]["keeper_is_better_at_p99_by"] = data[name]["p99_us"] / data["keeper"]["p99_us"]
    if options.json:
        print(json.dumps(data, indent=2))
        return
    for name, each in data.items():
        print(f"{name:15}" + "".join(f"  {key} {value:.0f}" for key, value in each.items()))


if __name__ == "__main__":
    main()
