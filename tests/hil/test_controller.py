"""The firmware in the loop: edges from the simulated pin's own cycle stamps, never from what the firmware says."""

import math
import os
import random
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from fractions import Fraction
from pathlib import Path

import pytest

from tests.hil.lossy import LossyLink
from tests.hil.sim import SimulatedController
from tests.tools.witness import Witness
from timer.bench import filament as fil
from timer.craft.lamp_response import INSTANT
from timer.errors import KeeperError, Refused
from timer.keeper.host.client import Keeper, Lost, connect
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Frame, encode
from timer.notebook.store import Notebook
from timer.plan import strip_plan
from timer.run import states
from timer.run.resume import recollection, rest
from timer.run.session import Session
from timer.settings import Settings, keeper_config

NAMES = iter(range(10**6, 10**9))


class Bench:
    def __init__(self, folder: Path, *, speed: float = 1.0, light: Path | None = None) -> None:
        self.witness = Witness(folder / "w")
        self.board = SimulatedController(self.witness.path, speed=speed, light=light)
        self.heard: list[messages.Event | Lost] = []

    def connect(self) -> Keeper:
        return connect(self.board.port, self.heard.append)

    def dark(self, name: int, seconds: float = 10) -> messages.Dark:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for event in self.heard:
                if isinstance(event, messages.Dark) and event.exposure == name:
                    return event
            time.sleep(0.005)
        raise AssertionError(f"never dark: {self.heard}")

    def close(self) -> None:
        self.board.close()
        self.witness.close()


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = Bench(tmp_path)
    yield made
    made.close()


def test_on_time_within_two_microseconds(tmp_path: Path) -> None:
    bench = Bench(tmp_path, speed=3.0)
    asked = [50_000, 65_536, 99_999, 1_000_000, 7_654_321, 32_768]
    with bench.connect() as keeper:
        for us in asked:
            name = next(NAMES)
            # beats, a flood of tallies and cues meanwhile: nothing on the link moves the edge
            keeper.expose(name, us, ((us // 3, 1), (us // 2, 2)), now=True)
            while bench.witness.lit or not bench.witness.edges:
                keeper.record(name)
            bench.dark(name)
    seen = [ns / 1000 for ns in bench.witness.exposures_ns()]
    bench.close()
    assert seen == pytest.approx(asked, abs=2.0)


def test_press_to_light_within_a_millisecond(bench: Bench) -> None:
    with bench.connect() as keeper:
        for _ in range(4):
            keeper.expose(next(NAMES), 20_000, now=False)
            time.sleep(0.32)
            before = len(bench.witness.edges)
            bench.witness.tell("P1")
            bench.witness.wait(False, more_than=before + 1)
            bench.witness.tell("P0")
            time.sleep(0.1)
    pressed = [int(line.split()[1]) for line in bench.witness.other if line.startswith("pressed")]
    lit = [edge.at_ns for edge in bench.witness.edges if edge.on]
    assert all(0 <= on - press <= 1_000_000 for press, on in zip(pressed, lit, strict=True))


def test_bounce_and_a_pedal_held_at_reset(bench: Bench) -> None:
    bench.witness.tell("P1")
    time.sleep(0.05)
    bench.witness.tell("R")
    time.sleep(0.2)
    with bench.connect() as keeper:
        keeper.expose(next(NAMES), 50_000, now=False)
        time.sleep(0.2)
        assert not bench.witness.edges
        bench.witness.tell("P0")
        time.sleep(0.4)
        for line in ("P1", "P0", "P1", "P0", "P1"):
            bench.witness.tell(line)
        bench.witness.wait(False, more_than=1)
        time.sleep(0.3)
    assert len(bench.witness.edges) == 2


def test_a_lossy_line_gives_every_light_once_and_exactly(bench: Bench) -> None:
    link = LossyLink(bench.board.port, random.Random(5), 0.25)
    asked = []
    with Keeper(link, bench.heard.append) as keeper:
        for n in range(15):
            name, us = next(NAMES), 60_000 + 1_000 * n
            with suppress(KeeperError):  # silent in four tries: it may or may not have been lit, and the pins tell
                keeper.expose(name, us, now=True)
            time.sleep(0.12)
            asked.append(us)
    assert link.noise >= 5  # that the line was lossy at all; how often depends on how the bytes fell
    seen = [ns / 1000 for ns in bench.witness.exposures_ns()]
    assert len(seen) >= 12
    left = iter(asked)
    for each in seen:  # in order, each at most once, none of another length
        assert any(abs(each - us) <= 2 for us in left), (each, asked, seen)


def test_ten_thousand_damaged_frames_give_no_light_and_no_hang(tmp_path: Path) -> None:
    bench = Bench(tmp_path, speed=20.0)
    chance = random.Random(6)
    keeper = bench.connect()
    whole = [
        encode(messages.to_frame(c, 9))
        for c in (
            messages.Arm(77, 2_000_000, True, ((5, 1),)),
            messages.FocusLight(9_000_000),
            messages.Dose(78, 9, 9_000_000, 10_000, True),
        )
    ]
    port = os.open(bench.board.port, os.O_WRONLY | os.O_NOCTTY)
    for _ in range(10_000):
        data = bytearray(chance.choice(whole))
        for _ in range(chance.randint(1, 5)):
            data[chance.randrange(1, len(data) - 1)] = chance.randrange(256)
        if bytes(data) not in whole:
            os.write(port, data)
    os.write(
        port,
        encode(Frame(0x44, 3, b"unknown"))
        + encode(messages.to_frame(messages.Arm(79, 1, False), 4)).replace(b"\x03", b"\x04"),
    )
    os.close(port)
    for _ in range(20):
        try:
            assert not keeper.record(77).known
            break
        except KeeperError:
            continue
    else:
        raise AssertionError("it does not answer any more")
    keeper.close()
    edges = list(bench.witness.edges)
    bench.close()
    assert edges == []


@pytest.mark.parametrize("seed", range(6))
def test_a_host_that_vanishes_is_dark_within_1100_ms_and_the_tally_is_exact(tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    bench = Bench(tmp_path, speed=2.0)
    keeper = bench.connect()
    name = next(NAMES)
    keeper.expose(name, 60_000_000, now=True)
    on = bench.witness.wait(True).at_ns
    time.sleep(chance.uniform(0.0, 0.6))
    bench.witness.tell("Q")
    keeper.close()
    off = bench.witness.wait(False, 3).at_ns
    gone = next(int(line.split()[1]) for line in bench.witness.other if line.startswith("now"))
    assert off - gone <= 1_100_000_000
    with bench.connect() as again:
        tally = again.tally(name)
    bench.close()
    assert tally.off_us - tally.on_us == pytest.approx((off - on) / 1000, abs=50)
    assert tally.why == messages.EndReason.HOST_SILENT


def test_two_minutes_within_two_microseconds(tmp_path: Path) -> None:
    bench = Bench(tmp_path, speed=3.0)
    name = next(NAMES)
    with bench.connect() as keeper:
        keeper.expose(name, 120_000_000, now=True)
        bench.dark(name, 200)
    seen = bench.witness.exposures_ns()[0] / 1000
    bench.close()
    assert seen == pytest.approx(120_000_000, abs=2.0)


def test_a_lamp_line_that_does_not_go_low_is_a_sticky_fault(bench: Bench) -> None:
    with bench.connect() as keeper:
        bench.witness.tell("S")
        end = time.monotonic() + 3
        while not any(isinstance(e, messages.Fault) for e in bench.heard) and time.monotonic() < end:
            time.sleep(0.01)
        with pytest.raises(Refused, match="lamp line is high"):
            keeper.expose(next(NAMES), 1000, now=True)
        with pytest.raises(Refused):
            keeper.focus_light(5)
    bench.heard.clear()
    with bench.connect():
        time.sleep(0.2)
    assert any(isinstance(e, messages.Fault) and "lamp line" in e.text for e in bench.heard)


def test_a_reset_is_dark_and_the_memory_stays(bench: Bench) -> None:
    first, second = next(NAMES), next(NAMES)
    with bench.connect() as keeper:
        keeper.expose(first, 40_000, now=True)
        bench.dark(first)
        keeper.expose(second, 9_000_000, now=True)
        bench.witness.wait(True)
        bench.witness.tell("R")
        bench.witness.wait(False, 2)
    time.sleep(0.2)
    with bench.connect() as keeper:
        tally = keeper.record(first)
        assert tally.off_us - tally.on_us == pytest.approx(40_000, abs=2)


# ── dose mode, against the bench's lamp ──────────────────────────────────────


def light_curve(path: Path, supply: fil.Supply, seconds: float) -> list[float]:
    """The bench's halogen on ``supply``, as millivolts of the sensor for each ms; 3 V at full light."""
    lamp = fil.PRESETS["halogen-12v-100w"]
    kelvin, levels = fil.ROOM_K, []
    for n in range(round(seconds * 1000)):
        kelvin, light = fil._run(lamp, kelvin, n / 1000, (n + 1) / 1000, ("graded",), supply, lit=True, step=0.001)
        levels.append(light["graded"] * 1000)
    path.write_text("\n".join(f"{3000 * level:.2f}" for level in levels))
    return levels


def dose_of(folder: Path, supply: fil.Supply, target: int, on_us: int) -> tuple[float, int]:
    """Full-light seconds that the paper had in dose mode, and in plain time of ``on_us`` on the same supply."""
    folder.mkdir()
    levels = light_curve(folder / "light", supply, 12)
    bench = Bench(folder, light=folder / "light")
    name = next(NAMES)
    with bench.connect() as keeper:
        keeper.dose(name, target, 12_000_000, 10_000, now=True)
        bench.dark(name, 20)
    (ns,) = bench.witness.exposures_ns()
    bench.close()
    return sum(levels[: round(ns / 1e6)]) / 1000, round(sum(levels[: on_us // 1000]))


def test_dose_mode_makes_the_mains_vanish(tmp_path: Path) -> None:
    light_curve(tmp_path / "steady", fil.RATED, 12)
    bench = Bench(tmp_path, light=tmp_path / "steady")
    name = next(NAMES)
    with bench.connect() as keeper:
        keeper.expose(name, 2_000_000, now=True)
        bench.dark(name)
        time.sleep(0.1)
        (counts,) = (e.counts for e in bench.heard if isinstance(e, messages.DoseIs))
    bench.close()
    right = sum(light_curve(tmp_path / "steady", fil.RATED, 2)) / 1000
    off_by_time = []
    for n, supply in enumerate((fil.Supply(level=0.9), fil.Supply(level=1.1), fil.Supply(level=1.0, drift=-2.4))):
        got, plain = dose_of(tmp_path / str(n), supply, counts, 2_000_000)
        assert abs(math.log2(got / right)) <= 0.01
        off_by_time.append(abs(math.log2(plain / 1000 / right)))
    assert all(0.35 <= off <= 0.65 for off in off_by_time[:2])  # at -10 % and +10 % of the mains


def test_a_dose_that_is_not_reached_ends_at_its_ceiling(bench: Bench) -> None:
    name = next(NAMES)
    with bench.connect() as keeper:
        keeper.dose(name, 10_000_000, 300_000, 10_000, now=True)  # no light on the sensor at all
        dark = bench.dark(name)
    assert dark.why == messages.EndReason.CEILING
    assert bench.witness.exposures_ns()[0] / 1000 == pytest.approx(300_000, abs=2)


# ── through the session ──────────────────────────────────────────────────────


def test_a_run_on_the_controller_and_its_line_pulled_in_the_middle(home: Path, bench: Bench) -> None:
    plan = strip_plan(1.5, Fraction(1, 2), 2, "cover", paper="silver")
    settings = Settings(lamp="controller", port=bench.board.port)
    notebook = Notebook(home / "notebook.db")
    session = Session(plan, notebook, keeper_config(settings), INSTANT, lambda run, what: None, auto=0.05)
    result: list[object] = []
    thread = threading.Thread(target=lambda: result.append(session.go()))
    thread.start()
    bench.witness.wait(True, 5)
    time.sleep(0.3)
    bench.witness.tell("U")
    bench.witness.wait(False, 3)
    thread.join(10)
    (made,) = result
    assert made.state is states.State.FAILED  # type: ignore[attr-defined]
    assert "line is gone" in made.says  # type: ignore[attr-defined]
    again = Settings(lamp="controller", port=bench.board.replugged())
    config = keeper_config(again)
    with recollection(config) as recollect:
        left, had = rest(notebook, notebook.run(1), recollect)
    seen = bench.witness.exposures_ns()[0] / 1e9
    assert had[0].low == had[0].high == pytest.approx(seen, abs=0.0001)
    Session(left, notebook, config, INSTANT, lambda run, what: None, auto=0.05, continues=1).go()
    notebook.close()
    assert sum(bench.witness.exposures_ns()) / 1e9 == pytest.approx(1.5 * 2**0.5, abs=0.001)


def test_a_run_by_light(home: Path, tmp_path: Path) -> None:
    levels = light_curve(tmp_path / "light", fil.Supply(level=0.92), 12)
    bench = Bench(tmp_path, light=tmp_path / "light")
    settings = Settings(lamp="controller", port=bench.board.port, counts_per_s=9615 * 3000 / 5000 * 1023)
    notebook = Notebook(home / "notebook.db")
    plan = strip_plan(1.2, Fraction(1, 2), 2, "window", paper="silver")
    result = Session(plan, notebook, keeper_config(settings), INSTANT, lambda run, what: None, auto=0.05).go()
    notebook.close()
    given = [sum(levels[: round(ns / 1e6)]) / 1000 for ns in bench.witness.exposures_ns()]
    bench.close()
    assert result.state is states.State.FINISHED
    for row, light in zip(result.exposures, given, strict=True):
        assert abs(math.log2(light / row.asked_s)) <= 0.02
        assert row.dose_s == pytest.approx(row.asked_s, rel=0.01)


def test_no_controller_and_a_wrong_port_are_sentences(tmp_path: Path) -> None:
    with pytest.raises(KeeperError, match="cannot be opened"):
        connect(str(tmp_path / "none"), lambda event: None)
    from timer.keeper.host.client import only_port

    with pytest.raises(KeeperError, match="no controller is found"):
        only_port()


def test_another_firmware_is_explained(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("timer.keeper.host.client.CONTROLLER_VERSION", 7)
    with pytest.raises(KeeperError, match=r"version 1 and 7 is wanted; `make flash`"):
        bench.connect()
