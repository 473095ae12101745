"""Kill or stop an app, its keeper, its guard or any two of them at a moment of chance, or stall the disk under all of
them, and compare what is said with what the wire saw.
"""

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from tests.tools.stall import Disk
from tests.tools.wired_pins import LAMP, install_wired
from tests.tools.witness import Witness
from timer.app.lamp import keeper_config
from timer.documents.settings import Pins, Settings
from timer.errors import LamphouseError
from timer.keeper.config import Config
from timer.keeper.local.memory import memory_file, now_at
from timer.keeper.runtime import runtime_dir
from timer.notebook.store import Notebook
from timer.run.resume import reconcile, record_lookup

STRIP = [
    "strip",
    "--from",
    "0.4",
    "--step",
    "1/3",
    "--patches",
    "3",
    "--way",
    "window",
    "--advance",
    "auto",
    "--pause",
    "0.02",
]
SPAN_S = 1.6
"""From the first light to a little after the last: where the fault may fall."""
PROCESSES = ("app", "keeper", "guard")
PAIRS = ("app+keeper", "app+guard", "keeper+guard")


@dataclass(frozen=True)
class Outcome:
    """Of one fault: who had it, how long to dark, what the wire saw and what the notebook says (full-light seconds).

    ``high_s`` None: the notebook says that nobody knows. ``dark_ms`` is 0 where it was dark already.
    """

    victim: str
    fault: str
    dark_ms: float
    seen_s: float
    low_s: float
    high_s: float | None
    committed_kept: bool
    finished_wrongly: bool

    @property
    def off_ms(self) -> float:
        """How far what was seen lies outside what is said."""
        above = 0.0 if self.high_s is None else self.seen_s - self.high_s
        return max(0.0, self.low_s - self.seen_s, above) * 1000

    @property
    def width_ms(self) -> float:
        return float("inf") if self.high_s is None else (self.high_s - self.low_s) * 1000


def fault_once(
    folder: Path,
    victim: str,
    chance: random.Random,
    *,
    stop_s: float = 0.0,
    lamp: str = "simulated",
    disk: Disk | None = None,
) -> Outcome:
    """One run, one fault; ``victim`` is one of PROCESSES or PAIRS, or "disk". ``stop_s``: stopped for so long, 0: killed.

    ``lamp``: simulated, or gpio on mock pins of a third party. ``disk`` is where everything of the run is kept, if it is to stall.
    """
    folder.mkdir(parents=True, exist_ok=True)
    home = disk.folder / folder.name if disk else folder
    home.mkdir(exist_ok=True)
    witness = Witness(folder / "w")
    around = {**os.environ, "LAMPHOUSE_HOME": str(home), "LAMPHOUSE_WIRE": str(witness.path)}
    if lamp == "gpio":
        around |= install_wired(folder, witness.path)
        (home / "settings.toml").write_text(f"[pins]\nlamp = {LAMP}\n")
    app = subprocess.Popen(
        [sys.executable, "-m", "timer.cli", *STRIP, "--lamp", lamp],
        env=around, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    processes: dict[str, int] = {}
    try:
        witness.wait(True)
        now = now_at(_memory(home, lamp))
        assert now
        processes = {"app": app.pid, "keeper": now.keeper, "guard": now.guard}
        time.sleep(chance.uniform(0, SPAN_S))
        kept = _committed(home)
        fault_ns = time.monotonic_ns()
        if disk:
            disk.freeze()
            time.sleep(stop_s)
            disk.thaw()
            dark_ms = 0.0
        else:
            for name in victim.split("+"):
                _send(processes[name], signal.SIGSTOP if stop_s else signal.SIGKILL)
            dark_ms = _dark_after_ms(witness, fault_ns)
        if stop_s and not disk:
            time.sleep(max(0.0, stop_s - (time.monotonic_ns() - fault_ns) / 1e9))
            for name in victim.split("+"):
                _send(processes[name], signal.SIGCONT)
        app.wait(20)
        _until(lambda: not any(_runs(p) for p in processes.values()), 5)
        # What followed the fault belongs to the sum as well: an app that was only stopped may have gone on.
        seen = sum(witness.exposures_ns()) / 1e9
        with Notebook(home / "notebook.db") as notebook:
            run = notebook.run(1)
            with record_lookup(notebook, run, _config(home, lamp)) as look_up:
                had = reconcile(notebook, run, look_up)
        after = _committed(home)
        high = None if any(h.high is None for h in had) else sum(h.high or 0.0 for h in had)
        asked = sum(step.seconds for step in run.plan.steps)
        return Outcome(
            victim,
            "stalled" if disk else f"stopped {stop_s:g} s" if stop_s else "killed",
            dark_ms,
            seen,
            sum(h.low for h in had),
            high,
            all(after.get(k, -1) == v for k, v in kept.items()),
            run.state == "finished" and abs(seen - asked) > 0.06,
        )
    finally:
        for process in (app.pid, *processes.values()):
            _send(process, signal.SIGCONT)
            _send(process, signal.SIGKILL)
        app.wait()
        witness.close()


def _dark_after_ms(witness: Witness, fault_ns: int) -> float:
    """How long the light that was on at the fault went on; 0 if there was none."""
    on = [e for e in witness.edges if e.at_ns <= fault_ns]
    if not on or not on[-1].on:
        return 0.0
    count = len(on)
    with witness.changed:
        came = witness.changed.wait_for(lambda: len(witness.edges) > count, 15)
    assert came, "never dark"
    return (witness.edges[count].at_ns - fault_ns) / 1e6


def _config(home: Path, lamp: str) -> Config:
    os.environ["LAMPHOUSE_HOME"] = str(home)
    return keeper_config(Settings(pins=Pins(lamp=LAMP)), lamp=lamp)


def _memory(home: Path, lamp: str) -> Path:
    return memory_file(runtime_dir(), _config(home, lamp).lamp_key)


def _send(process: int, number: int) -> None:
    with suppress(ProcessLookupError):
        if process:
            os.kill(process, number)


def _runs(process: int) -> bool:
    with suppress(OSError, LamphouseError):
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] not in "ZX"
    return False


def _until(what: Callable[[], bool], seconds: float) -> None:
    end = time.monotonic() + seconds
    while not what() and time.monotonic() < end:
        time.sleep(0.005)


def _committed(folder: Path) -> dict[tuple[str, int], int]:
    """Every fact that another process can read at this moment."""
    db = sqlite3.connect(f"{(folder / 'notebook.db').as_uri()}?mode=ro", uri=True)
    try:
        facts = {("fact", n): low for n, low in db.execute("SELECT number, low_us FROM exposure WHERE why IS NOT NULL")}
        return facts | {("intent", n): us for n, us in db.execute("SELECT number, ordered_us FROM exposure")}
    finally:
        db.close()
