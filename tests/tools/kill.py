"""Kill or stop an app, its keeper, its guard or any two of them at a moment of chance, stall the disk under all of them,
take away what is around them, silence or reset a microcontroller, lose and double frames; and compare what is said with
what the wire saw.
"""

import math
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path

from tests.hil.sim import SimulatedController
from tests.tools.stall import Disk
from tests.tools.wired_pins import LAMP, install_wired
from tests.tools.witness import Witness
from timer.app.lamp import keeper_config
from timer.craft.dodge_burn import SMALLEST_S
from timer.documents.settings import Pins, Settings
from timer.errors import LamphouseError
from timer.keeper.config import Config
from timer.keeper.local.memory import memory_file, now_at
from timer.keeper.runtime import runtime_dir
from timer.notebook.light import UNSETTLED, booked
from timer.notebook.rows import ExposureRow, RunRow
from timer.notebook.store import Notebook
from timer.run.resume import LightGiven, reconcile, record_lookup

AUTO = ["--advance", "auto", "--pause", "0.02"]
STRIP = ["strip", "--from", "0.4", "--step", "1/3", "--patches", "3", "--way", "window", *AUTO]
SPAN_S = 1.6
"""From the first light to a little after the last: where the fault may fall."""
PROCESSES = ("app", "keeper", "guard")
PAIRS = ("app+keeper", "app+guard", "keeper+guard")
BOARD = ("app", "line", "board")
"""What can fail with a microcontroller: "line" is one that is not heard for a while, "board" one that is reset."""
AROUND = ("lock", "runtime", "runtime+keeper", "runtime+app+keeper")
"""What can fail around a run: "lock" is another program that holds the notebook, "runtime" the keeper's folder in memory,
which goes with the printer's last log-in, alone or before processes are killed."""
LATE_S = 0.021
"""An end that is later than this is never called complete (design), and a millisecond."""
LONGEST_S = 60.0
RESUMED_AT_MOST = 12


@dataclass(frozen=True)
class Frames:
    """Shares of all frames, either way, that are lost and that come twice."""

    lost: float
    doubled: float


@dataclass(frozen=True)
class Outcome:
    """Of one fault: who had it, how long to dark, and how what the notebook says compares with what the wire saw.

    ``off_ms``: how far any exposure's light lies outside of what is booked of it; infinite if one is not booked at all.
    ``width_ms``: of all ranges together; None where the notebook says that nobody knows. ``dark_ms`` is 0 where it was
    dark already. ``sum_off_ms``: what the paper had when all was resumed, off what was asked by more than the ranges
    allow; None where a range was open, or no light was. ``sum_known``: every part was a point. ``late_ms``: how late the edges
    of the run that finished were, as booked; it is no part of ``sum_off_ms``. ``hung``: it had to be ended.
    """

    victim: str
    fault: str
    dark_ms: float
    off_ms: float
    width_ms: float | None
    committed_kept: bool
    finished_wrongly: bool
    hung: bool = False
    sum_off_ms: float | None = None
    sum_known: bool = False
    late_ms: float = 0.0


@dataclass(frozen=True)
class _Scene:
    """Where one run is made: its folder, its lamp and who sees it, what its processes are told."""

    home: Path
    lamp: str
    witness: Witness
    around: dict[str, str]
    board: SimulatedController | None
    frames: Frames | None
    chance: random.Random

    def command(self, words: list[str]) -> list[str]:
        """The command line, on the lamp; on a link with faults if there are any."""
        words = [*words, "--lamp", self.lamp]
        if self.frames is None:
            return [sys.executable, "-m", "timer.cli", *words]
        spoilt = (self.chance.randrange(2**32), self.frames.lost, self.frames.doubled)
        return [sys.executable, "-m", "tests.tools.lossy_frames", *map(str, spoilt), *words]

    @property
    def config(self) -> Config:
        os.environ["LAMPHOUSE_HOME"] = str(self.home)
        os.environ["LAMPHOUSE_RUNTIME"] = self.around["LAMPHOUSE_RUNTIME"]
        port = self.board.port if self.board else ""
        return keeper_config(Settings(pins=Pins(lamp=LAMP), port=port), lamp=self.lamp)

    @property
    def memory(self) -> Path:
        return memory_file(Path(self.around["LAMPHOUSE_RUNTIME"]), self.config.lamp_key)

    def now_ns(self) -> int:
        """By the clock that the witness's edges are stamped with: ours, or the board's."""
        if not self.board:
            return time.monotonic_ns()
        told = len(self.witness.other)
        self.witness.tell("Q")
        with self.witness.changed:
            assert self.witness.changed.wait_for(lambda: any(o.startswith("now") for o in self.witness.other[told:]), 5)
        return int(next(o for o in reversed(self.witness.other) if o.startswith("now")).split()[1])


@contextmanager
def _scene(folder: Path, chance: random.Random, lamp: str, disk: Disk | None, frames: Frames | None) -> Iterator[_Scene]:
    folder.mkdir(parents=True, exist_ok=True)
    home = disk.folder / folder.name if disk else folder
    home.mkdir(exist_ok=True)
    witness = Witness(folder / "w")
    runtime = Path(tempfile.mkdtemp(prefix="lh-", dir=runtime_dir()))  # in memory, and nobody else's
    own = {"LAMPHOUSE_HOME": str(home), "LAMPHOUSE_WIRE": str(witness.path), "LAMPHOUSE_RUNTIME": str(runtime)}
    around, before = {**os.environ, **own}, os.environ.get("LAMPHOUSE_RUNTIME")
    board = None
    try:
        if lamp == "gpio":
            around |= install_wired(folder, witness.path)
            (home / "settings.toml").write_text(f"[pins]\nlamp = {LAMP}\n")
        if lamp == "controller":
            board = SimulatedController(witness.path)
            (home / "settings.toml").write_text(f'port = "{board.port}"\n')
        yield _Scene(home, lamp, witness, around, board, frames, chance)
    finally:
        if board:
            board.close()
        witness.close()
        os.environ.pop("LAMPHOUSE_RUNTIME", None)
        if before is not None:
            os.environ["LAMPHOUSE_RUNTIME"] = before
        shutil.rmtree(runtime, ignore_errors=True)


def fault_once(
    folder: Path,
    victim: str,
    chance: random.Random,
    *,
    stop_s: float = 0.0,
    lamp: str = "simulated",
    disk: Disk | None = None,
    frames: Frames | None = None,
    resumed: bool = False,
) -> Outcome:
    """One run, one fault; ``victim`` is one of PROCESSES, PAIRS or AROUND (of BOARD on a controller), "disk", or "" for nobody.

    ``stop_s``: stopped, or the notebook held, for so long, 0: killed. ``lamp``: simulated, gpio on mock pins of a third party, or the controller
    in its simulator. ``disk`` is where everything of the run is kept, if it is to stall. ``frames``: the link's faults, in
    this run and in those that give what it lacks, if it is to be ``resumed``.
    """
    with _scene(folder, chance, lamp, disk, frames) as scene:
        witness = scene.witness
        app = subprocess.Popen(
            scene.command(STRIP),
            env=scene.around, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        processes = {"app": app.pid}
        try:
            _until(lambda: witness.lit or app.poll() is not None, 30)
            now = now_at(scene.memory) if lamp != "controller" else None
            processes |= {"keeper": now.keeper, "guard": now.guard} if now else {}
            if app.poll() is None:
                time.sleep(chance.uniform(0, SPAN_S))
            kept = _committed(scene.home)
            dark_ms = _do(scene, victim, processes, stop_s, disk)
            hung = not _until(lambda: app.poll() is not None, LONGEST_S)
            if hung:
                print((scene.home / "transitions.log").read_text(), file=sys.stderr)
                app.kill()
            _until(lambda: not any(_runs(p) for p in processes.values()), 5)
            # What followed the fault belongs to it as well: an app that was only stopped may have gone on.
            if witness.lit:
                witness.wait(False)
            lights = witness.exposures_ns()
            if not _runs_made(scene.home):  # the link was too bad even to greet
                return Outcome(victim or "nobody", "no run", dark_ms, math.inf if lights else 0.0, 0.0, True, False, hung)
            with Notebook(scene.home / "notebook.db") as notebook:
                run = notebook.run(1)
                had = _reconciled(notebook, run, scene.config)
                off_ms, steps = _compared(notebook.exposures(1), lights)
            after = _committed(scene.home)
            fault = "stalled" if disk else f"stopped {stop_s:g} s" if stop_s else "killed" if victim else "frames"
            outcome = Outcome(
                victim or "nobody",
                fault,
                dark_ms,
                off_ms,
                _width_ms(had),
                all(after.get(k, -1) == v for k, v in kept.items()),
                run.state == "finished" and any(not 0 <= _over(run, n, steps) <= LATE_S for n in _exposed(run)),
                hung,
            )
        finally:
            for process in (app.pid, *processes.values()):
                _send(process, signal.SIGCONT)
                _send(process, signal.SIGKILL)
            app.wait()
        return _with_sum(outcome, scene, run) if resumed else outcome


def _do(scene: _Scene, victim: str, processes: dict[str, int], stop_s: float, disk: Disk | None) -> float:
    """Do what is to be done to ``victim``; how long the light that was on went on (ms)."""
    if disk:
        disk.freeze()
        time.sleep(stop_s)
        disk.thaw()
        return 0.0
    if not victim:
        return 0.0
    if victim == "lock":
        _hold(scene.home / "notebook.db", stop_s)
        return 0.0
    if "runtime" in victim:
        shutil.rmtree(scene.around["LAMPHOUSE_RUNTIME"])
    if victim == "runtime":
        return 0.0
    if victim == "board":
        scene.witness.tell("R")
        return 0.0
    if victim == "line":
        scene.witness.tell("M")
        time.sleep(stop_s)
        scene.witness.tell("H")
        return 0.0
    began, fault_ns = time.monotonic(), scene.now_ns()
    names = [name for name in victim.split("+") if name in processes]
    for name in names:
        _send(processes[name], signal.SIGSTOP if stop_s else signal.SIGKILL)
    dark_ms = _dark_after_ms(scene.witness, fault_ns)
    if stop_s:
        time.sleep(max(0.0, stop_s - (time.monotonic() - began)))
        for name in names:
            _send(processes[name], signal.SIGCONT)
    return dark_ms


def _hold(notebook: Path, seconds: float) -> None:
    """As another program does that writes for so long."""
    db = sqlite3.connect(notebook, isolation_level=None, timeout=10)
    try:
        db.execute("BEGIN IMMEDIATE")
        time.sleep(seconds)
    finally:
        db.close()


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


# ── what is said beside what was seen ────────────────────────────────────────


def _reconciled(notebook: Notebook, run: RunRow, config: Config) -> list[LightGiven]:
    with record_lookup(notebook, run, config) as look_up:
        return reconcile(notebook, run, look_up)


def _compared(rows: list[ExposureRow], lights_ns: list[int]) -> tuple[float, dict[int, float]]:
    """How far any light lies outside of what is booked (ms), and the light that each step had (s).

    Lights come in the order of their rows. Only the last row of a run that broke off can be one that may have had none.
    """
    off_ms, steps, left = 0.0, dict[int, float](), [ns / 1e6 for ns in lights_ns]
    for row in rows:
        light = booked(row)
        assert light
        low, high = light.low_us / 1e3, float("inf") if light.high_us is None else light.high_us / 1e3
        had = left.pop(0) if left and high > 0 else 0.0
        steps[row.step] = steps.get(row.step, 0.0) + had / 1e3
        off_ms = max(off_ms, low - had, had - high)
    return float("inf") if left else off_ms, steps


def _width_ms(had: list[LightGiven]) -> float | None:
    width = 0.0
    for h in had:
        if h.high is None:
            return None
        width += h.high - h.low
    return width * 1e3


def _exposed(run: RunRow) -> list[int]:
    return [n for n, step in enumerate(run.plan.steps) if step.do == "expose"]


def _over(run: RunRow, step: int, seen: dict[int, float]) -> float:
    """By how much a step's light is over what was asked (s); less than half of the shortest light there is none."""
    over = seen.get(step, 0.0) - run.plan.steps[step].seconds
    return 0.0 if -SMALLEST_S / 2 < over < 0 else over


# ── what is missing, given ───────────────────────────────────────────────────


def _with_sum(outcome: Outcome, scene: _Scene, first: RunRow) -> Outcome:
    """Resume until nothing is missing, and compare all the light there was with all that was asked."""
    asked = sum(step.seconds for step in first.plan.steps)
    slack, opened = 0.0, False
    for _ in range(RESUMED_AT_MOST):
        with Notebook(scene.home / "notebook.db") as notebook:
            run = next(iter(notebook.unfinished(1)), None)
            had = _reconciled(notebook, run, scene.config) if run else []
        if run is None:
            break
        words = ["resume", str(run.id), *AUTO]
        before = _runs_made(scene.home)
        said = _said(scene, words)
        if "--assume" in said:
            said = _said(scene, [*words, "--assume", "least"])
        if _runs_made(scene.home) == before and "lacks nothing" not in said:
            continue  # the link was too bad even to greet
        for h in had:
            if h.done:
                asked += max(0.0, h.low - run.plan.steps[h.step].seconds)  # what was too much stays so
            else:
                slack += 0.0 if h.high is None else h.high - h.low
                opened |= h.high is None
        if "too much light" in said or "lacks nothing if" in said:
            break  # nothing can be done for it any more, or nothing need be if the range is believed
    else:
        raise AssertionError(f"resumed {RESUMED_AT_MOST} times, and not finished: {said}")
    had_s = sum(scene.witness.exposures_ns()) / 1e9
    late_ms = _late_ms(scene.home)
    off_ms = max(0.0, abs(had_s - asked - late_ms / 1e3) - slack) * 1e3
    sum_off = None if opened or not had_s else off_ms
    return replace(outcome, sum_off_ms=sum_off, sum_known=not opened and slack == 0, late_ms=late_ms)


def _late_ms(home: Path) -> float:
    """By how much the edges of the last run came late, if it has finished, as the notebook has it: that stays so."""
    with Notebook(home / "notebook.db") as notebook:
        last = notebook.runs(1)[0]
        rows = notebook.exposures(last.id) if last.state == "finished" else []
    lights = [(row.ordered_us, light) for row in rows if (light := booked(row)) and light.high_us == light.low_us]
    return sum(max(0, light.low_us - (ordered - light.cut_us)) for ordered, light in lights) / 1e3


def _said(scene: _Scene, words: list[str]) -> str:
    """Run ``words``; what was said of what went wrong. Whatever is lit by them is dark on return."""
    done = subprocess.run(
        scene.command(words), env=scene.around, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=LONGEST_S
    )
    if scene.witness.lit:
        scene.witness.wait(False)
    return done.stderr


# ── processes and the notebook ───────────────────────────────────────────────


def _send(process: int, number: int) -> None:
    with suppress(ProcessLookupError):
        if process:
            os.kill(process, number)


def _runs(process: int) -> bool:
    with suppress(OSError, LamphouseError):
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] not in "ZX"
    return False


def _until(what: Callable[[], bool], seconds: float) -> bool:
    """Wait for ``what``; whether it came."""
    end = time.monotonic() + seconds
    while not (came := what()) and time.monotonic() < end:
        time.sleep(0.005)
    return came


def _read(home: Path, sql: str) -> list[tuple[int, int]]:
    db = sqlite3.connect(f"{(home / 'notebook.db').as_uri()}?mode=ro", uri=True)
    try:
        return db.execute(sql).fetchall()
    finally:
        db.close()


def _committed(home: Path) -> dict[tuple[str, int], int]:
    """Every fact of the first run that another process can read at this moment, but those that may yet be told better."""
    settled = f"SELECT number, low_us FROM exposure WHERE run = 1 AND why NOT IN {tuple(sorted(UNSETTLED))}"
    facts = {("fact", n): low for n, low in _read(home, settled)}
    intents = _read(home, "SELECT number, ordered_us FROM exposure WHERE run = 1")
    return facts | {("intent", n): us for n, us in intents}


def _runs_made(home: Path) -> int:
    return _read(home, "SELECT count(*), 0 FROM run")[0][0]
