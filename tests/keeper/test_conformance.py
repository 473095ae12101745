"""One contract, one suite, run against every keeper: each test gets a client on a running one, and sees its pins."""

import os
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.hil.sim import SimulatedController
from tests.tools.loopback import Loopback
from tests.tools.wired_pins import LAMP, install_wired
from tests.tools.witness import Witness
from timer.errors import KeeperError, Refused
from timer.keeper.claim import holder_of
from timer.keeper.config import Config
from timer.keeper.host.client import Heard, Keeper, Lost
from timer.keeper.host.local import start_local
from timer.keeper.host.open import open_keeper
from timer.keeper.local.memory import Remembered, memory_file, recollect
from timer.keeper.runtime import runtime_dir
from timer.keeper.wire import messages
from timer.notebook.rows import new_name

TOLERANCE_US = 5_000  # a test machine without real-time rights; the benchmark judges timing
NAMES = iter(new_name, 0)  # the memory of a lamp outlives a test


class Rig:
    """A running keeper, its client, what it said and what its pins did."""

    def __init__(self, kind: str, folder: Path, pytestconfig: pytest.Config | None = None) -> None:
        # LAMPHOUSE_RIG=gpio:SEEN:FOOT or controller:SEEN:FOOT:PORT, see hardware/rig/README.md
        rigged = os.environ.get("LAMPHOUSE_RIG", "").split(":") if kind == "rig" else []
        self.witness: Any = Loopback(int(rigged[1]), int(rigged[2])) if rigged else Witness(folder / "w")
        self.heard: list[Heard] = []
        self.folder = folder
        self.board = SimulatedController(self.witness.path) if kind == "controller" else None
        port = self.board.port if self.board else rigged[3] if len(rigged) > 3 else ""
        kind = rigged[0] if rigged else kind
        wire = str(self.witness.path) if kind == "simulated" else ""
        self.config = Config(str(folder), lamp=kind, wire=wire, port=port, lamp_pin=17 if rigged else LAMP)
        self.keeper: Keeper = open_keeper(self.config, self.heard.append)

    def given_us(self, name: int) -> int:
        """What the keeper remembers of an exposure after the host has gone: its file, or asked anew over the line."""
        if self.config.lamp == "controller":
            with open_keeper(self.config, lambda event: None) as keeper:
                record = keeper.record(name)
            return record.off_us - record.on_us
        kept = self.remembered(name)
        return (kept.off_ns - kept.on_ns) // 1000

    def remembered(self, name: int) -> Remembered:
        memory = recollect(memory_file(runtime_dir(), self.config.lamp_key))
        assert memory
        return memory.entries[name]

    def heard_of(self, kind: type, seconds: float = 5.0) -> list[Heard]:
        end = time.monotonic() + seconds
        while not (found := [e for e in self.heard if isinstance(e, kind)]) and time.monotonic() < end:
            time.sleep(0.002)
        return found

    def sounds(self, count: int) -> list[list[str]]:
        """The board's sounds, once there are ``count``."""
        end = time.monotonic() + 5
        while len(found := [line.split() for line in self.witness.other if line[0] == "C"]) < count:
            assert time.monotonic() < end, found
            time.sleep(0.002)
        return found

    def close(self) -> None:
        self.keeper.close()
        if self.board:
            self.board.close()
        self.witness.close()


def _rig(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Rig]:
    if request.param == "gpio":
        for key, value in install_wired(tmp_path, tmp_path / "w").items():
            monkeypatch.setenv(key, value)
    made = Rig(request.param, tmp_path)
    yield made
    made.close()


@pytest.fixture(params=["simulated", "gpio", "controller", *(["rig"] if os.environ.get("LAMPHOUSE_RIG") else [])])
def rig(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Rig]:
    """Every keeper there is; the controller is the compiled firmware in a cycle-accurate simulator."""
    yield from _rig(request, tmp_path, monkeypatch)


@pytest.fixture(params=["simulated", "gpio"])
def local(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Rig]:
    """Keepers that are processes, for what can only be done to a process."""
    yield from _rig(request, tmp_path, monkeypatch)


def test_dark_at_the_start(rig: Rig) -> None:
    assert rig.keeper.hello.protocol == messages.PROTOCOL
    assert not rig.witness.lit


def test_both_edges(rig: Rig) -> None:
    name = next(NAMES)
    rig.keeper.expose(name, 150_000, now=True)
    (dark,) = rig.heard_of(messages.Dark)
    assert isinstance(dark, messages.Dark)
    rig.witness.wait(False, more_than=1)
    (seen,) = rig.witness.exposures_ns()
    assert seen / 1000 == pytest.approx(150_000, abs=TOLERANCE_US)
    assert dark.off_us - dark.on_us == pytest.approx(seen / 1000, abs=TOLERANCE_US)
    assert (dark.exposure, dark.ordered_us, dark.why) == (name, 150_000, messages.EndReason.COMPLETE)


def test_cues_come_with_the_light(rig: Rig) -> None:
    rig.keeper.expose(next(NAMES), 400_000, ((100_000, messages.Cue.WARN), (200_000, messages.Cue.CHANGE)), now=True)
    rig.heard_of(messages.Dark)
    cues = [(c.at_us, c.cue) for c in rig.heard if isinstance(c, messages.CueEvent)]
    assert cues == [(100_000, messages.Cue.WARN), (200_000, messages.Cue.CHANGE)]
    if rig.config.lamp == "simulated":  # it stamps its sounds; the others have no buzzer here
        sounds = rig.sounds(3)
        on, off = (edge.at_ns for edge in rig.witness.edges[:2])
        after = [(int(at) - on) / 1e6 for _, at in sounds]
        assert after == pytest.approx([100, 200, (off - on) / 1e6], abs=20)


def test_halt(rig: Rig) -> None:
    rig.keeper.expose(next(NAMES), 5_000_000, now=True)
    rig.witness.wait(True)
    rig.keeper.halt()
    assert not rig.witness.wait(False).on
    (dark,) = rig.heard_of(messages.Dark)
    assert isinstance(dark, messages.Dark)
    assert dark.why == messages.EndReason.HALTED


def test_the_footswitch_fires_what_is_armed(rig: Rig) -> None:
    rig.keeper.expose(next(NAMES), 100_000, now=False)
    assert not rig.witness.lit
    rig.witness.tell("P1")
    rig.witness.wait(True)
    (lit,) = rig.heard_of(messages.Lit)
    assert isinstance(lit, messages.Lit)
    assert lit.by_pedal
    rig.witness.wait(False)
    rig.witness.tell("P0")


def test_a_long_press_is_dark(rig: Rig) -> None:
    rig.keeper.expose(next(NAMES), 9_000_000, now=True)
    rig.witness.wait(True)
    time.sleep(0.15)  # what a cable picks up of the lamp's own edge is no press
    rig.witness.tell("P1")
    rig.witness.wait(False, 3)
    assert [p.press for p in rig.heard_of(messages.Pedal) if isinstance(p, messages.Pedal)][0] == messages.Press.DOWN


def test_refusals(rig: Rig) -> None:
    with pytest.raises(Refused, match="120 s"):
        rig.keeper.expose(next(NAMES), 120_000_001, now=True)
    name = next(NAMES)
    rig.keeper.expose(name, 1000, now=True)
    rig.heard_of(messages.Dark)
    with pytest.raises(Refused, match="twice"):
        rig.keeper.expose(name, 1000, now=True)
    rig.keeper.focus_light(10)
    with pytest.raises(Refused, match="in use"):
        rig.keeper.expose(next(NAMES), 1000, now=True)


def test_tally(rig: Rig) -> None:
    name = next(NAMES)
    rig.keeper.expose(name, 30_000, now=True)
    rig.heard_of(messages.Dark)
    tally = rig.keeper.record(name)
    assert tally.known
    assert tally.off_us - tally.on_us == pytest.approx(30_000, abs=TOLERANCE_US)
    assert not rig.keeper.record(name + 1).known


def test_focus_light_ends(rig: Rig) -> None:
    rig.keeper.focus_light(0.15)
    rig.witness.wait(True)
    rig.witness.wait(False, 2)
    rig.keeper.focus_light(5)
    rig.keeper.focus_light(0)
    assert not rig.witness.wait(False, more_than=3).on


def test_a_closed_link_is_dark_and_remembered(rig: Rig) -> None:
    name = next(NAMES)
    rig.keeper.expose(name, 9_000_000, now=True)
    rig.witness.wait(True)
    rig.keeper.close()
    rig.witness.wait(False, 2)
    (seen,) = rig.witness.exposures_ns()
    assert rig.given_us(name) == pytest.approx(seen / 1000, abs=TOLERANCE_US)


@pytest.mark.parametrize("number", [1, 2, 15])
def test_signals_are_dark_then_reported(local: Rig, number: int) -> None:
    local.keeper.expose(next(NAMES), 9_000_000, now=True)
    local.witness.wait(True)
    os.kill(local.keeper.hello.process, number)
    local.witness.wait(False, 1)
    (dark,) = local.heard_of(messages.Dark)
    assert isinstance(dark, messages.Dark)
    assert dark.why == messages.EndReason.SIGNAL
    assert local.heard_of(Lost)


def test_a_killed_keeper_is_dark_and_the_host_knows_when(local: Rig) -> None:
    name = next(NAMES)
    local.keeper.expose(name, 9_000_000, now=True)
    local.witness.wait(True)
    time.sleep(0.1)
    os.kill(local.keeper.hello.process, 9)
    local.witness.wait(False, 1)
    (lost,) = local.heard_of(Lost)
    assert isinstance(lost, Lost)
    (seen,) = local.witness.exposures_ns()
    kept = local.remembered(name)
    assert kept.why is None
    assert kept.alive_ns - kept.on_ns <= seen + TOLERANCE_US * 1000
    assert kept.proven_ns - kept.on_ns >= seen - TOLERANCE_US * 1000
    assert kept.proven_ns - kept.alive_ns < 250_000_000
    with pytest.raises(KeeperError):
        local.keeper.halt()


def test_a_stopped_keeper_is_killed_so_that_its_lamp_goes_dark(local: Rig) -> None:
    local.keeper.expose(next(NAMES), 60_000_000, now=True)
    local.witness.wait(True)
    os.kill(local.keeper.hello.process, 19)
    local.witness.wait(False, 4)


def test_one_lamp_one_keeper(local: Rig) -> None:
    holder = holder_of(local.config.lamp_key)
    assert holder
    assert holder.process == local.keeper.hello.process
    with pytest.raises(KeeperError, match="held by another"):
        start_local(local.config, lambda _: None)
    if local.config.lamp == "gpio":  # one pin is one lamp, whichever folder it is asked for from
        with pytest.raises(KeeperError, match="held by another"):
            start_local(replace(local.config, state_dir=str(local.folder / "elsewhere")), lambda _: None)


def test_one_that_is_refused_leaves_the_light_alone(local: Rig) -> None:
    """Its own end, with a lamp that is another's, must end neither that lamp's light nor that keeper's guard."""
    local.keeper.expose(next(NAMES), 2_500_000, now=True)
    local.witness.wait(True)
    with pytest.raises(KeeperError, match="held by another"):
        start_local(local.config, lambda _: None)
    (dark,) = local.heard_of(messages.Dark)
    assert isinstance(dark, messages.Dark)
    assert dark.why == messages.EndReason.COMPLETE
    assert sum(local.witness.exposures_ns()) == pytest.approx(2_500_000_000, abs=TOLERANCE_US * 1000)


def test_a_pedal_held_at_the_start_is_not_a_press(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for key, value in install_wired(tmp_path, tmp_path / "w").items():
        monkeypatch.setenv(key, value)
    monkeypatch.setenv("WIRED_HELD", "1")
    rig = Rig("gpio", tmp_path)
    rig.keeper.expose(next(NAMES), 100_000, now=False)
    rig.witness.tell("P1")  # already down: no edge
    time.sleep(0.2)
    assert not rig.witness.edges
    rig.witness.tell("P0")
    time.sleep(0.35)
    rig.witness.tell("P1")
    rig.witness.wait(True)
    rig.close()
