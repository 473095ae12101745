"""The firmware live, with the program's own client, session and commands on its serial line.

Edges are from the simulated pin's own cycle stamps, never from what the firmware says. What needs no client is in the other
files here, on scripts.
"""

import math
import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from fractions import Fraction
from pathlib import Path

import pytest

from tests.hil.bench import Bench
from tests.hil.lossy import LossyLink
from timer.app.lamp import keeper_config
from timer.bench import filament as fil
from timer.craft.lamp_response import INSTANT
from timer.documents.settings import Settings
from timer.errors import KeeperError, Refused
from timer.keeper.claim import Claim
from timer.keeper.config import Config
from timer.keeper.host.client import Keeper, Lost, Missed
from timer.keeper.host.controller import ControllerEnding, connect
from timer.keeper.host.serial_port import only_port
from timer.keeper.wire import messages
from timer.keeper.wire.messages import EndReason
from timer.notebook.rows import new_name
from timer.notebook.store import Notebook
from timer.plans.strip import strip_plan
from timer.run import states
from timer.run.resume import record_lookup, rest
from timer.run.session import Result, Session

NAMES = iter(new_name, 0)
SILENCE_S = 0.95
"""The board's 0.9 s, and some for what it had still to read; to the millisecond in test_faults.py."""


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = Bench(tmp_path / "bench")
    yield made
    made.close()


# ── with the client ──────────────────────────────────────────────────────────


def test_a_lossy_line_gives_every_light_once_and_exactly(bench: Bench) -> None:
    link = LossyLink(bench.board.port, random.Random(5), 0.25)
    asked = []
    with Keeper(link, bench.heard.append, ControllerEnding(Claim(bench.config.lamp_key), bench.config)) as keeper:
        for n in range(15):
            name, us = next(NAMES), 60_000 + 1_000 * n
            with suppress(
                KeeperError, Refused
            ):  # silent in four tries, or the one before is still lit: it may or may not have been lit, and the pins tell
                keeper.expose(name, us, now=True)
            over = bench.now_ns() + 120_000_000  # by the board's own time: a busy machine simulates it slowly
            while bench.now_ns() < over:
                time.sleep(0.01)
            asked.append(us)
    assert link.noise >= 5  # that the line was lossy at all; how often depends on how the bytes fell
    seen = [ns / 1000 for ns in bench.witness.exposures_ns()]
    assert len(seen) >= 12
    left = iter(asked)
    for each in seen:  # in order, each at most once, none of another length
        assert any(abs(each - us) <= 2 for us in left), (each, asked, seen)


@pytest.mark.parametrize("seed", range(2))
def test_a_host_that_vanishes_is_dark_in_time_and_the_record_is_exact(bench: Bench, seed: int) -> None:
    keeper, name = bench.connect(), next(NAMES)
    keeper.expose(name, 60_000_000, now=True)
    on = bench.witness.wait(True).at_ns
    time.sleep(random.Random(seed).uniform(0.0, 0.6))
    keeper.close()
    gone = bench.now_ns()
    off = bench.witness.wait(False, 3).at_ns
    assert off - gone <= SILENCE_S * 1e9
    with bench.connect() as again:
        record = again.record(name)
    assert record.off_us - record.on_us == pytest.approx((off - on) / 1000, abs=2)
    assert record.why == EndReason.HOST_SILENT


def test_a_fault_is_told_in_words_to_whoever_asks(bench: Bench) -> None:
    with bench.connect() as keeper:
        bench.witness.tell("S")
        bench.until(messages.Fault)
        with pytest.raises(Refused, match="lamp line is high"):
            keeper.expose(next(NAMES), 1000, now=True)
        with pytest.raises(Refused, match="lamp line is high"):
            keeper.focus_light(5)
    for _ in range(2):  # each time it is greeted, even by the same words
        bench.heard.clear()
        with bench.connect():
            assert "lamp line" in bench.until(messages.Fault, seconds=2).text


def test_a_reset_in_the_middle_is_told_by_the_board_itself(bench: Bench) -> None:
    first, second = next(NAMES), next(NAMES)
    with bench.connect() as keeper:
        keeper.expose(first, 40_000, now=True)
        bench.dark(first)
        keeper.expose(second, 9_000_000, now=True)
        bench.witness.wait(True)
        time.sleep(0.2)
        bench.witness.tell("R")
        bench.witness.wait(False, 2)
        dark = bench.dark(second)
        assert dark.why == EndReason.FAULT
        assert dark.off_us - dark.on_us == pytest.approx(bench.witness.exposures_ns()[1] / 1000, abs=200)
        record = keeper.record(first)
        assert record.off_us - record.on_us == pytest.approx(40_000, abs=2)
        with pytest.raises(Refused, match="twice"):
            keeper.expose(second, 9_000_000, now=True)


def test_no_controller_and_a_wrong_port_are_sentences(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(KeeperError, match="cannot be opened"):
        connect(Config(str(tmp_path), lamp="controller", port=str(tmp_path / "none")), lambda event: None)
    monkeypatch.setattr("timer.keeper.host.serial_port.likely_ports", list)
    with pytest.raises(KeeperError, match="no controller is found"):
        only_port()


def test_another_firmware_is_explained(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("timer.keeper.host.controller.CONTROLLER_VERSION", 7)
    with pytest.raises(KeeperError, match=r"version 2 and 7 is wanted; `make flash`"):
        bench.connect()


def test_one_program_at_a_time(bench: Bench) -> None:
    with bench.connect(), pytest.raises(KeeperError, match=f"in use by another Lamphouse \\(process {os.getpid()}\\)"):
        bench.connect()


# ── dose mode, against the bench's lamp ──────────────────────────────────────

COUNTS_PER_S = 9_615 * 3_000 / 5_000 * 1_023  # the sensor gives 3 V of 5 at full light


def light_curve(path: Path, supply: fil.Supply, seconds: float) -> list[float]:
    """The bench's halogen on ``supply``, as millivolts of the sensor for each ms; 3 V at full light."""
    times = [(n + 0.5) / 1000 for n in range(round(seconds * 1000))]
    levels = fil.light_levels(fil.PRESETS["halogen-12v-100w"], [(0.0, seconds)], "graded", times, supply)
    path.write_text("\n".join(f"{3000 * level:.2f}" for level in levels))
    return levels


def dose_of(folder: Path, supply: fil.Supply, target: int, on_us: int) -> tuple[float, float]:
    """Full-light seconds that the paper had in dose mode, and in plain time of ``on_us`` on the same supply."""
    folder.mkdir()
    levels = light_curve(folder / "light", supply, 6)
    bench, name = Bench(folder, light=folder / "light"), next(NAMES)
    with bench.connect() as keeper:
        keeper.dose(name, target, 6_000_000, 10_000, now=True)
        dark = bench.dark(name, 20)
    (ns,) = bench.witness.exposures_ns()
    bench.close()
    assert dark.why == EndReason.COMPLETE
    assert dark.counts == pytest.approx(target, rel=0.01)
    return sum(levels[: round(ns / 1e6)]) / 1000, sum(levels[: on_us // 1000]) / 1000


def test_dose_mode_makes_the_mains_vanish(tmp_path: Path) -> None:
    levels = light_curve(tmp_path / "steady", fil.RATED, 3)
    bench, name = Bench(tmp_path / "bench", light=tmp_path / "steady"), next(NAMES)
    with bench.connect() as keeper:
        keeper.expose(name, 2_000_000, now=True)
        counts = bench.dark(name).counts
        assert keeper.record(name).counts == counts
    bench.close()
    right = sum(levels[:2_000]) / 1000
    assert counts == pytest.approx(right * COUNTS_PER_S, rel=0.01)
    off_by_time = []
    for n, supply in enumerate((fil.Supply(level=0.9), fil.Supply(level=1.1), fil.Supply(level=1.0, drift=-2.4))):
        got, plain = dose_of(tmp_path / str(n), supply, counts, 2_000_000)
        assert abs(math.log2(got / right)) <= 0.01
        off_by_time.append(abs(math.log2(plain / right)))
    assert all(0.35 <= off <= 0.65 for off in off_by_time[:2])  # at -10 % and +10 % of the mains


def test_a_dose_that_is_not_reached_ends_at_its_longest_time(bench: Bench) -> None:
    name = next(NAMES)
    with bench.connect() as keeper:
        keeper.dose(name, 10_000_000, 300_000, 10_000, now=True)  # no light on the sensor at all
        assert bench.dark(name).why == EndReason.CEILING
    assert bench.witness.exposures_ns()[0] / 1000 == pytest.approx(300_000, abs=2)


# ── through the session ──────────────────────────────────────────────────────


class Run:
    """A session on a thread."""

    def __init__(self, home: Path, bench: Bench, *, auto: float | None = 0.05) -> None:
        self.plan = strip_plan(1.5, Fraction(1, 2), 2, "cover", paper="bw")
        self.notebook = Notebook(home / "notebook.db")
        self.config = keeper_config(Settings(lamp="controller", port=bench.board.port))
        self.shown: list[tuple[states.State, object]] = []
        self.session = Session(
            self.plan, self.notebook, self.config, INSTANT, lambda run, what: self.shown.append((run.state, what)), auto=auto
        )
        self._results: list[Result] = []
        self._thread = threading.Thread(target=lambda: self._results.append(self.session.go()))
        self._thread.start()

    def until(self, state: states.State, seconds: float = 10) -> None:
        end = time.monotonic() + seconds
        while state not in [shown for shown, _ in self.shown]:
            assert time.monotonic() < end, f"never {state}: {self.shown}"
            time.sleep(0.005)

    def result(self) -> Result:
        """How it ended; the notebook stays open."""
        self._thread.join(15)
        (result,) = self._results
        return result

    def close(self) -> None:
        self.session.leave()
        self._thread.join(15)
        self.notebook.close()


@pytest.fixture
def start(home: Path, bench: Bench) -> Iterator[Callable[..., Run]]:
    made: list[Run] = []

    def run(*, auto: float | None = 0.05) -> Run:
        made.append(Run(home, bench, auto=auto))
        return made[-1]

    yield run
    for each in made:
        each.close()


@pytest.mark.parametrize("how", ["pulled", "mute"])
def test_a_line_that_is_lost_is_dark_and_a_range_until_the_board_is_heard_again(
    start: Callable[..., Run], bench: Bench, how: str
) -> None:
    """Pulled out, or one way dead: dark by the board itself, said, and not guessed at; exact when it is asked."""
    run = start()
    bench.witness.wait(True, 5)
    time.sleep(0.3)
    bench.witness.tell("U" if how == "pulled" else "M")
    bench.witness.wait(False, 3)
    result = run.result()
    seen = bench.witness.exposures_ns()[0] / 1e9
    assert result.state is states.State.FAILED
    assert "goes dark by itself within a second" in result.says
    assert "what is missing can be given later" in result.says
    (row,) = run.notebook.exposures(1)
    assert row.low_us is not None and row.high_us is not None
    assert row.low_us / 1e6 <= seen <= row.high_us / 1e6
    assert row.low_us < row.high_us
    if how == "pulled":
        bench.board.replugged()
    else:
        bench.witness.tell("H")
    config = keeper_config(Settings(lamp="controller", port=bench.board.port))
    with record_lookup(run.notebook, run.notebook.run(1), config) as look_up:
        left, had = rest(run.notebook, run.notebook.run(1), look_up)
    assert had[0].low == had[0].high == pytest.approx(seen, abs=0.0001)
    Session(left, run.notebook, config, INSTANT, lambda run, what: None, auto=0.05, continues=1).go()
    assert sum(bench.witness.exposures_ns()) / 1e9 == pytest.approx(1.5 * 2**0.5, abs=0.001)


def test_a_board_that_is_reset_in_the_middle_pauses_the_run_and_the_rest_is_given(
    start: Callable[..., Run], bench: Bench
) -> None:
    run = start(auto=None)
    run.until(states.State.ARMED)
    run.session.press()
    bench.witness.wait(True, 5)
    time.sleep(0.3)
    bench.witness.tell("R")
    run.until(states.State.PAUSED)
    run.shown.clear()
    run.session.press()
    run.until(states.State.ARMED)
    run.session.press()
    run.until(states.State.LIT)
    bench.witness.wait(False, more_than=3)
    run.session.leave()
    run.result()
    assert sum(bench.witness.exposures_ns()) / 1e9 == pytest.approx(1.5, abs=0.001)


def test_an_armed_board_that_is_reset_says_so_and_a_press_does_nothing(start: Callable[..., Run], bench: Bench) -> None:
    run = start(auto=None)
    run.until(states.State.ARMED)
    time.sleep(0.3)  # until the board is so too
    bench.witness.tell("R")
    run.until(states.State.PAUSED)
    assert any(isinstance(what, states.Disarmed) and what.why == "fault" for _, what in run.shown)
    bench.witness.tell("P1")
    time.sleep(0.3)
    assert bench.witness.edges == []
    run.session.leave()
    run.result()
    assert [(row.low_us, row.high_us, row.why) for row in run.notebook.exposures(1)] == [(0, 0, "not_lit")] * 2


def test_a_word_that_is_sent_again_to_a_board_that_was_reset_arms_nothing_for_long(
    start: Callable[..., Run], bench: Bench
) -> None:
    """The board is armed and reset, and its answer is lost: what is sent again arms it anew, and it is told to be dark."""
    run = start(auto=None)
    run.until(states.State.NOTING)
    bench.witness.tell("M")
    run.until(states.State.ARMED)
    time.sleep(0.1)
    bench.witness.tell("H")
    bench.witness.tell("R")
    run.until(states.State.PAUSED)
    bench.witness.tell("P1")
    time.sleep(0.3)
    assert bench.witness.edges == []
    run.session.leave()
    run.result()
    assert run.notebook.exposures(1)[0].why == "not_lit"


def test_a_run_by_light(home: Path, tmp_path: Path) -> None:
    levels = light_curve(tmp_path / "light", fil.Supply(level=0.92), 5)
    bench = Bench(tmp_path / "bench", light=tmp_path / "light")
    settings = Settings(lamp="controller", port=bench.board.port, counts_per_s=COUNTS_PER_S)
    notebook = Notebook(home / "notebook.db")
    plan = strip_plan(1.2, Fraction(1, 2), 2, "window", paper="bw")
    result = Session(plan, notebook, keeper_config(settings), INSTANT, lambda run, what: None, auto=0.05).go()
    notebook.close()
    given = [sum(levels[: round(ns / 1e6)]) / 1000 for ns in bench.witness.exposures_ns()]
    bench.close()
    assert result.state is states.State.FINISHED
    for row, light in zip(result.exposures, given, strict=True):
        assert abs(math.log2(light / row.asked_s)) <= 0.02
        assert row.dose_s == pytest.approx(row.asked_s, rel=0.01)


# ── through the command line ─────────────────────────────────────────────────


@pytest.mark.parametrize("how", ["stopped", "killed"])
def test_a_host_that_hangs_or_dies_is_dark_and_the_notebook_is_true(home: Path, bench: Bench, how: str) -> None:
    """Stopped for two seconds: the light ended without it, and when it goes on it says so and calls nothing finished."""
    (home / "settings.toml").write_text(f'lamp = "controller"\nport = "{bench.board.port}"\n')
    strip = ["strip", "--from", "4", "--step", "1/2", "--patches", "2", "--advance", "auto", "--pause", "0.02"]
    app = subprocess.Popen(
        [sys.executable, "-m", "timer.cli", *strip], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        text=True, env={**os.environ, "LAMPHOUSE_HOME": str(home)},
    )  # fmt: skip
    try:
        bench.witness.wait(True, 20)
        time.sleep(0.4)
        app.send_signal(signal.SIGSTOP if how == "stopped" else signal.SIGKILL)
        gone = bench.now_ns()
        off = bench.witness.wait(False, 3).at_ns
        assert off - gone <= SILENCE_S * 1e9
        if how == "stopped":
            time.sleep(1.0)
            app.send_signal(signal.SIGCONT)
        said = app.communicate(timeout=30)[0]
    finally:
        app.kill()
        app.communicate()
    seen = sum(bench.witness.exposures_ns()) / 1e9
    config = keeper_config(Settings(lamp="controller", port=bench.board.port))
    with Notebook(home / "notebook.db") as notebook:
        run = notebook.run(1)
        assert run.state != "finished"
        with record_lookup(notebook, run, config) as look_up:
            _, had = rest(notebook, run, look_up)
    assert sum(h.low for h in had) == sum(h.high or 99 for h in had) == pytest.approx(seen, abs=0.001)
    if how == "stopped":
        assert app.returncode == 1, said
        assert "it went dark before its time" in said
        assert "`lamphouse resume 1` gives the paper what it lacks" in said


def test_lamp_off_makes_it_dark_while_another_program_has_the_line(home: Path, bench: Bench) -> None:
    (home / "settings.toml").write_text(f'lamp = "controller"\nport = "{bench.board.port}"\n')
    with bench.connect() as keeper:
        name = next(NAMES)
        keeper.expose(name, 60_000_000, now=True)
        bench.witness.wait(True)
        subprocess.run(
            [sys.executable, "-m", "timer.cli", "lamp", "off"], check=True, capture_output=True, timeout=30,
            env={**os.environ, "LAMPHOUSE_HOME": str(home)},
        )  # fmt: skip
        bench.witness.wait(False)
        # Two read the line now, and the other may have had the word: the client knows that one is missing.
        bench.until((messages.Dark, Missed))
        assert keeper.record(name).why == EndReason.HALTED


def test_a_lost_line_is_the_last_word_of_the_client(bench: Bench) -> None:
    with bench.connect() as keeper:
        keeper.expose(next(NAMES), 60_000_000, now=True)
        bench.witness.wait(True)
        time.sleep(0.3)
        bench.witness.tell("U")
        lost = bench.until(Lost)
        assert lost.lit
        with pytest.raises(KeeperError, match="goes dark by itself"):
            keeper.halt()
        bench.witness.wait(False, 2)
    bench.board.replugged()
