"""Kill an app, its keeper or both at a moment of chance, and compare what is said with what the wire saw."""

import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from tests.tools.witness import Witness
from timer.keeper.host.client import running_keeper
from timer.keeper.local.memory import memory_file, recall
from timer.notebook.store import Notebook
from timer.run.resume import reconcile

STRIP = ["strip", "--from", "0.15", "--step", "1/3", "--patches", "5", "--advance", "auto", "--pause", "0.02"]
SPAN_S = 0.85
"""From the first light to a little after the last: where the kill may fall."""


@dataclass(frozen=True)
class Outcome:
    """Of one kill: who died, how long to dark, what the wire saw and what the notebook says (full-light seconds)."""

    victim: str
    dark_ms: float
    seen_s: float
    low_s: float
    high_s: float
    committed_kept: bool

    @property
    def off_ms(self) -> float:
        """How far what was seen lies outside what is said."""
        return max(0.0, self.low_s - self.seen_s, self.seen_s - self.high_s) * 1000

    @property
    def width_ms(self) -> float:
        return (self.high_s - self.low_s) * 1000


def kill_once(folder: Path, victim: str, chance: random.Random) -> Outcome:
    """One run, one kill; ``victim`` is app, keeper or both."""
    folder.mkdir(parents=True)
    witness = Witness(folder / "w")
    env = {**os.environ, "LAMPHOUSE_HOME": str(folder), "LAMPHOUSE_WIRE": str(witness.path)}
    app = subprocess.Popen(
        [sys.executable, "-m", "timer.cli", *STRIP],
        env=env, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        witness.wait(True)
        keeper = running_keeper(folder)
        time.sleep(chance.uniform(0, SPAN_S))
        kept = _committed(folder)
        killed_ns = time.monotonic_ns()
        if victim in ("app", "both"):
            os.kill(app.pid, signal.SIGKILL)
        if victim in ("keeper", "both") and keeper:
            with suppress(ProcessLookupError):  # the run was over
                os.kill(keeper, signal.SIGKILL)
        edge = witness.wait(False, 5)
        dark_ms = max(0.0, (edge.at_ns - killed_ns) / 1e6)
        app.wait(10)
        while running_keeper(folder) is not None:
            time.sleep(0.005)
        time.sleep(0.02)
        seen = sum(witness.exposures_ns()) / 1e9
        notebook = Notebook(folder / "notebook.db")
        had = reconcile(notebook, notebook.run(1), recall(memory_file(folder)).get)
        notebook.close()
        after = _committed(folder)
        low, high = sum(h.low for h in had), sum(h.high for h in had)
        return Outcome(victim, dark_ms, seen, low, high, all(after.get(k, -1) == v for k, v in kept.items()))
    finally:
        app.kill()
        app.wait()
        witness.close()


def _committed(folder: Path) -> dict[tuple[str, int], int]:
    """Every fact that another process can read at this moment."""
    db = sqlite3.connect(f"{(folder / 'notebook.db').as_uri()}?mode=ro", uri=True)
    try:
        facts = {("fact", n): low for n, low in db.execute("SELECT number, low_us FROM exposure WHERE why IS NOT NULL")}
        return facts | {("intent", n): us for n, us in db.execute("SELECT number, ordered_us FROM exposure")}
    finally:
        db.close()


def as_json(outcomes: list[Outcome]) -> str:
    return json.dumps([{**o.__dict__, "off_ms": o.off_ms} for o in outcomes])
