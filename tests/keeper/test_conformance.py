"""One contract, one suite, run against every keeper: each test gets a client on a running one, and sees its pins."""

import os
import select
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
from timer.errors import KeeperError
from timer.keeper.claim import holder_of
from timer.keeper.config import Config
from timer.keeper.host.client import Lost
from timer.keeper.host.local import start_local
from timer.keeper.host.open import open_keeper
from timer.keeper.wire import messages
from timer.testing.conformance import *  # noqa: F403
from timer.testing.conformance import NAMES, TOLERANCE_US
from timer.testing.rig import RunningKeeper


class OurRig(RunningKeeper):
    """A running keeper of one of our own kinds, and what its pins did."""

    witness: Any

    def __init__(self, kind: str, folder: Path) -> None:
        # LAMPHOUSE_RIG=gpio:SEEN:FOOT or controller:SEEN:FOOT:PORT, see hardware/rig/README.md
        rigged = os.environ.get("LAMPHOUSE_RIG", "").split(":") if kind == "rig" else []
        witness: Any = Loopback(int(rigged[1]), int(rigged[2])) if rigged else Witness(folder / "w")
        self.folder = folder
        self.board = SimulatedController(witness.path) if kind == "controller" else None
        port = self.board.port if self.board else rigged[3] if len(rigged) > 3 else ""
        kind = rigged[0] if rigged else kind
        wire = str(witness.path) if kind == "simulated" else ""
        super().__init__(Config(str(folder), lamp=kind, wire=wire, port=port, lamp_pin=17 if rigged else LAMP), witness)

    def given_us(self, name: int) -> int:
        """From its memory's file, or asked anew over the line."""
        if self.config.lamp == "controller":
            with open_keeper(self.config, lambda event: None) as keeper:
                record = keeper.record(name)
            return record.off_us - record.on_us
        return super().given_us(name)

    def sounds(self, count: int) -> list[list[str]]:
        """The board's sounds, once there are ``count``."""
        end = time.monotonic() + 5
        while len(found := [line.split() for line in self.witness.other if line[0] == "C"]) < count:
            assert time.monotonic() < end, found
            time.sleep(0.002)
        return found

    def close(self) -> None:
        super().close()
        if self.board:
            self.board.close()
        self.witness.close()


def _rig(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[OurRig]:
    if request.param == "gpio":
        for key, value in install_wired(tmp_path, tmp_path / "w").items():
            monkeypatch.setenv(key, value)
    made = OurRig(request.param, tmp_path)
    yield made
    made.close()


@pytest.fixture(params=["simulated", "gpio", "controller", *(["rig"] if os.environ.get("LAMPHOUSE_RIG") else [])])
def rig(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[OurRig]:
    """Every keeper there is; the controller is the compiled firmware in a cycle-accurate simulator."""
    yield from _rig(request, tmp_path, monkeypatch)


@pytest.fixture(params=["simulated", "gpio"])
def local(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[OurRig]:
    """Keepers that are processes, for what can only be done to a process."""
    yield from _rig(request, tmp_path, monkeypatch)


def test_sounds_come_at_their_moments(tmp_path: Path) -> None:
    """The simulated board stamps its sounds; the others have no buzzer here."""
    rig = OurRig("simulated", tmp_path)
    rig.keeper.expose(next(NAMES), 400_000, ((100_000, messages.Cue.WARN), (200_000, messages.Cue.CHANGE)), now=True)
    rig.heard_of(messages.Dark)
    sounds = rig.sounds(3)
    on, off = (edge.at_ns for edge in rig.witness.edges[:2])
    after = [(int(at) - on) / 1e6 for _, at in sounds]
    assert after == pytest.approx([100, 200, (off - on) / 1e6], abs=20)
    rig.close()


@pytest.mark.parametrize("number", [1, 2, 15])
def test_signals_are_dark_then_reported(local: OurRig, number: int) -> None:
    local.keeper.expose(next(NAMES), 9_000_000, now=True)
    local.witness.wait(True)
    os.kill(local.keeper.hello.process, number)
    local.witness.wait(False, 1)
    (dark,) = local.heard_of(messages.Dark)
    assert isinstance(dark, messages.Dark)
    assert dark.why == messages.EndReason.SIGNAL
    assert local.heard_of(Lost)


def _killed(process: int) -> int:
    """Kill ``process``; a moment (ns, monotonic) at which it had not ended yet: the last that we have seen."""
    watch = os.pidfd_open(process)
    lived_ns = now_ns = time.monotonic_ns()
    os.kill(process, 9)
    try:
        while not select.select([watch], [], [], 0)[0]:  # it lived when this was asked, and so at the moment before
            lived_ns, now_ns = now_ns, time.monotonic_ns()
    finally:
        os.close(watch)
    return lived_ns


def test_a_killed_keeper_is_dark_and_the_host_knows_when(local: OurRig) -> None:
    name = next(NAMES)
    local.keeper.expose(name, 9_000_000, now=True)
    local.witness.wait(True)
    time.sleep(0.1)
    lived_ns = _killed(local.keeper.hello.process)
    local.witness.wait(False)
    (lost,) = local.heard_of(Lost)
    assert isinstance(lost, Lost)
    (seen,) = local.witness.exposures_ns()
    kept = local.remembered(name)
    assert kept.why is None
    assert kept.alive_ns - kept.on_ns <= seen + TOLERANCE_US * 1000
    assert kept.proven_ns >= lived_ns  # and not by the witness's stamp, which is late where the machine is busy
    assert kept.proven_ns - kept.alive_ns < 250_000_000
    with pytest.raises(KeeperError):
        local.keeper.halt()


def test_a_stopped_keeper_is_killed_so_that_its_lamp_goes_dark(local: OurRig) -> None:
    local.keeper.expose(next(NAMES), 60_000_000, now=True)
    local.witness.wait(True)
    os.kill(local.keeper.hello.process, 19)
    local.witness.wait(False, 4)


def test_one_lamp_one_keeper(local: OurRig) -> None:
    holder = holder_of(local.config.lamp_key)
    assert holder
    assert holder.process == local.keeper.hello.process
    with pytest.raises(KeeperError, match="held by another"):
        start_local(local.config, lambda _: None)
    if local.config.lamp == "gpio":  # one pin is one lamp, whichever folder it is asked for from
        with pytest.raises(KeeperError, match="held by another"):
            start_local(replace(local.config, state_dir=str(local.folder / "elsewhere")), lambda _: None)


def test_one_that_is_refused_leaves_the_light_alone(local: OurRig) -> None:
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
    rig = OurRig("gpio", tmp_path)
    rig.keeper.expose(next(NAMES), 100_000, now=False)
    rig.witness.tell("P1")  # already down: no edge
    time.sleep(0.2)
    assert not rig.witness.edges
    rig.witness.tell("P0")
    time.sleep(1.0)  # the rest that a press needs is 0.3 s, and the thread that reads the wire may be late for its beginning
    rig.witness.tell("P1")
    rig.witness.wait(True)
    rig.close()
