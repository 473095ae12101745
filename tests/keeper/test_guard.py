"""The guard beside the keeper: what it makes of a keeper that dies, stops, hangs or is late, and what becomes of it itself."""

import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.tools.wired_pins import LAMP, install_wired
from tests.tools.witness import Witness
from timer.errors import KeeperError, Refused
from timer.keeper.config import Config
from timer.keeper.host.client import Heard, Keeper, Lost
from timer.keeper.host.local import GUARD_S, _at_it, start_local
from timer.keeper.local import memory
from timer.keeper.local.guard import HANGS_NS, LATE_NS, STALE_NS, judged
from timer.keeper.local.memory import Memory, memory_file, now_at
from timer.keeper.runtime import runtime_dir
from timer.keeper.wire import messages
from timer.notebook.rows import new_name

S = 1_000_000_000


@pytest.fixture
def words(tmp_path: Path) -> Iterator["memoryview[int]"]:
    kept = Memory(tmp_path / "memory")
    yield kept.words
    kept.close()


def test_only_a_keeper_that_may_be_lit_is_judged(words: "memoryview[int]") -> None:
    assert judged(words, 10 * S) == ""
    words[memory.SHINES], words[memory.DUE], words[memory.KEEPER_ALIVE] = 1, 12 * S, 10 * S
    assert judged(words, 10 * S + HANGS_NS) == ""
    assert judged(words, 10 * S + HANGS_NS + 1) == "hangs"
    words[memory.KEEPER_ALIVE] = 12 * S + LATE_NS
    assert judged(words, 12 * S + LATE_NS) == ""
    assert judged(words, 12 * S + LATE_NS + 1) == "late"


def test_one_that_is_stopped_is_judged_sooner_than_one_that_is_held_up(words: "memoryview[int]") -> None:
    words[memory.SHINES], words[memory.DUE], words[memory.KEEPER_ALIVE] = 1, 12 * S, 10 * S
    sleeper = subprocess.Popen(["sleep", "60"])
    try:
        words[memory.KEEPER] = sleeper.pid
        assert judged(words, 10 * S + STALE_NS + 1) == ""
        sleeper.send_signal(signal.SIGSTOP)
        os.waitid(os.P_PID, sleeper.pid, os.WSTOPPED)
        assert judged(words, 10 * S + STALE_NS) == ""
        assert judged(words, 10 * S + STALE_NS + 1) == "stopped"
    finally:
        sleeper.kill()
        sleeper.wait()


class Watched:
    """A keeper on wired mock pins, watched from outside; ``hang`` makes its lamp pin block instead of going off."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch, *, hang: bool = False) -> None:
        self.witness = Witness(folder / "w")
        for key, value in install_wired(folder, self.witness.path).items():
            monkeypatch.setenv(key, value)
        if hang:
            monkeypatch.setenv("WIRED_HANG", "1")
        self.name = new_name()
        self.heard: list[Heard] = []
        self.config = Config(str(folder), lamp="gpio", lamp_pin=LAMP)
        self.keeper: Keeper = start_local(self.config, self.heard.append)

    def now(self) -> memory.Now:
        found = now_at(memory_file(runtime_dir(), self.config.lamp_key))
        assert found
        return found

    def heard_of(self, kind: type) -> list[Heard]:
        end = time.monotonic() + 5
        while not (found := [e for e in self.heard if isinstance(e, kind)]) and time.monotonic() < end:
            time.sleep(0.002)
        return found

    def close(self) -> None:
        self.keeper.close()
        self.witness.close()


@pytest.fixture
def watched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., Watched]]:
    made: list[Watched] = []

    def make(**options: bool) -> Watched:
        made.append(Watched(tmp_path, monkeypatch, **options))
        return made[-1]

    yield make
    for each in made:
        each.close()


def test_it_is_there_before_the_first_light(watched: Callable[..., Watched]) -> None:
    rig = watched()
    assert rig.keeper.hello.guard == rig.now().guard > 0
    assert rig.now().keeper == rig.keeper.hello.process


@pytest.mark.parametrize("light", ["exposure", "focus light"])
@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGSTOP])
def test_a_keeper_that_dies_or_stops_is_dark_though_its_app_is_stopped(
    watched: Callable[..., Watched], light: str, number: int
) -> None:
    """Nobody answers heartbeats here: only the guard can have done it."""
    rig = watched()
    if light == "exposure":
        rig.keeper.expose(rig.name, 60_000_000, now=True)
    else:
        rig.keeper.focus_light(60)
    rig.witness.wait(True)
    process = rig.keeper.hello.process
    os.kill(process, number)
    at = time.monotonic_ns()
    edge = rig.witness.wait(False, 3)
    assert edge.at_ns - at < 0.9 * S  # the app's own patience is longer
    kept = memory.recollect(memory_file(runtime_dir(), rig.config.lamp_key))
    assert kept
    if light == "exposure":
        end = time.monotonic() + 2
        while not (proven := kept.entries[rig.name].proven_ns) and time.monotonic() < end:
            kept = memory.recollect(memory_file(runtime_dir(), rig.config.lamp_key))
            assert kept
        assert proven >= edge.at_ns - 5_000_000
    assert rig.heard_of(Lost)


def test_a_keeper_that_hangs_in_its_off_edge_is_dark(watched: Callable[..., Watched]) -> None:
    rig = watched(hang=True)
    rig.keeper.expose(rig.name, 300_000, now=True)
    on = rig.witness.wait(True)
    off = rig.witness.wait(False, 3)
    assert off.released
    assert off.at_ns - on.at_ns < 1.0 * S


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGSTOP])
def test_without_the_guard_the_light_ends_and_no_other_is_given(watched: Callable[..., Watched], number: int) -> None:
    rig = watched()
    rig.keeper.expose(rig.name, 60_000_000, now=True)
    rig.witness.wait(True)
    guard = rig.keeper.hello.guard
    os.kill(guard, number)
    at = time.monotonic_ns()
    edge = rig.witness.wait(False, 3)
    assert edge.at_ns - at < 1.0 * S
    assert not edge.released
    (fault,) = rig.heard_of(messages.Fault)
    assert isinstance(fault, messages.Fault)
    assert "guard" in fault.text
    with pytest.raises(Refused, match="guard"):
        rig.keeper.expose(new_name(), 1000, now=True)
    os.kill(guard, signal.SIGCONT)


def test_a_guard_that_stopped_while_it_was_dark_is_noticed_when_armed(watched: Callable[..., Watched]) -> None:
    rig = watched()
    os.kill(rig.keeper.hello.guard, signal.SIGSTOP)
    rig.keeper.expose(rig.name, 60_000_000, now=False)
    assert rig.heard_of(messages.Disarmed)
    assert rig.heard_of(messages.Fault)
    os.kill(rig.keeper.hello.guard, signal.SIGCONT)


def test_term_does_not_end_a_guard_before_its_keeper(watched: Callable[..., Watched]) -> None:
    rig = watched()
    rig.keeper.expose(rig.name, 60_000_000, now=True)
    rig.witness.wait(True)
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
        os.kill(rig.keeper.hello.guard, number)
    time.sleep(0.2)
    assert rig.witness.lit
    guard = rig.keeper.hello.guard
    rig.keeper.close()
    end = time.monotonic() + 2
    while memory.born(guard) and time.monotonic() < end:
        time.sleep(0.01)
    assert not memory.born(guard)  # and it does not outlive it


def test_a_keeper_without_a_folder_in_memory_does_not_start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "somebody's").mkdir(mode=0o755)
    os.chown(tmp_path / "somebody's", 12345, 12345) if os.geteuid() == 0 else pytest.skip("needs root to make it so")
    monkeypatch.setenv("LAMPHOUSE_RUNTIME", str(tmp_path / "somebody's"))
    with pytest.raises(KeeperError, match="another user"):
        start_local(Config(str(tmp_path)), lambda _: None)


def test_a_guard_that_is_mute_is_not_waited_for() -> None:
    """Alive and not stopped, yet without a sign of life: it hangs with its keeper."""
    mine, now = os.getpid(), time.monotonic_ns()
    assert _at_it(memory.Now(0, mine, 0, True, 0, now))
    assert not _at_it(memory.Now(0, mine, 0, True, 0, now - round(GUARD_S * S) - 1))
    assert not _at_it(memory.Now(0, 0, 0, True, 0, now))
    assert not _at_it(memory.Now(0, mine, 0, False, 0, now))


def test_a_guard_that_dies_with_words_unread_is_a_guard_that_is_gone(watched: Callable[..., Watched]) -> None:
    """Its end is an error then, and no end of file (unix(7)): the keeper must say what is so, and stay to say it."""
    rig = watched()
    os.kill(rig.keeper.hello.guard, signal.SIGSTOP)
    rig.keeper.expose(rig.name, 60_000_000, now=False)  # it is told to watch, and does not read it
    os.kill(rig.keeper.hello.guard, signal.SIGKILL)
    (fault,) = rig.heard_of(messages.Fault)
    assert isinstance(fault, messages.Fault)
    assert "guard" in fault.text
    assert rig.keeper.record(rig.name).known is False
    assert not rig.witness.lit
