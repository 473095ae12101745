"""What is said of a lamp, and noted of its dark, by those who do not hold it."""

import os
import socket
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from timer.errors import KeeperError
from timer.keeper.boards.line import Line
from timer.keeper.claim import Claim, Holder
from timer.keeper.config import Config
from timer.keeper.host import darken
from timer.keeper.host.client import Heard, Keeper, Lost
from timer.keeper.host.darken import after_keeper, look
from timer.keeper.local import guard, memory
from timer.keeper.local.memory import KEEPER_ALIVE, SHINES, Memory, memory_file
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Decoder, encode

S = 1_000_000_000
GONE = 2**22 + 1
"""More than any process number is (proc(5): /proc/sys/kernel/pid_max)."""


@pytest.fixture
def config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Config:
    (tmp_path / "runtime").mkdir(mode=0o700)
    monkeypatch.setenv("LAMPHOUSE_RUNTIME", str(tmp_path / "runtime"))
    return Config(str(tmp_path))


@pytest.fixture
def kept(config: Config) -> Iterator[Memory]:
    """The memory of the lamp of ``config``, taken by this process."""
    found = _memory(config)
    yield found
    found.close()


def _memory(config: Config) -> Memory:
    made = Memory(memory_file(Path(os.environ["LAMPHOUSE_RUNTIME"]), config.lamp_key))
    made.take()
    return made


def test_a_memory_of_ours_says_nothing_of_a_lamp_that_another_has(config: Config, kept: Memory) -> None:
    """Another user's keeper has its memory elsewhere; what ours has left behind is old."""
    kept.words[memory.KEEPER] = GONE
    claim = Claim(config.lamp_key)
    try:
        seen = look(config)
    finally:
        claim.close()
    assert (seen.keeper, seen.lit) == (os.getpid(), None)


def test_a_keepers_own_word_is_taken(config: Config, kept: Memory) -> None:
    kept.shine(time.monotonic_ns() + S, time.monotonic_ns())
    assert look(config).lit is True


@pytest.mark.parametrize("lit", [True, False])
def test_a_controllers_word_is_not_taken_for_ever(config: Config, lit: bool) -> None:
    """The program that uses it may be stopped: it goes dark by itself meanwhile, or a press lights it."""
    board = replace(config, lamp="controller", port="/dev/none")
    kept = _memory(board)
    try:
        kept.words[SHINES], kept.words[KEEPER_ALIVE] = lit, time.monotonic_ns() + 60 * S
        assert look(board).lit is lit
        kept.words[KEEPER_ALIVE] = time.monotonic_ns() - S
        assert look(board).lit is None
    finally:
        kept.close()


@pytest.mark.parametrize("dark", [True, False])
@pytest.mark.parametrize("who", ["guard", "app"])
def test_dark_is_noted_of_a_line_that_was_seen_low_alone(
    config: Config, kept: Memory, monkeypatch: pytest.MonkeyPatch, who: str, dark: bool
) -> None:
    """One that cannot be had, or that something else drives high, may be lit still: the range stays open."""
    monkeypatch.setattr("timer.keeper.boards.line.drive_low", lambda *_: dark)
    monkeypatch.setattr(darken, "drive_low", lambda *_: dark)
    monkeypatch.setattr(darken, "line_of", lambda _: Line("/dev/gpiochip9", 17))
    kept.begin(7, 1_000_000, time.monotonic_ns(), 1000)
    kept.shine(time.monotonic_ns() + S, time.monotonic_ns())
    kept.lit(time.monotonic_ns())
    if who == "guard":
        guard.make_dark(kept.words, ("/dev/gpiochip9", 17))
    else:
        assert after_keeper(config) is dark
    entry = kept.record(7)
    assert entry
    assert bool(entry.proven_ns) is dark
    assert bool(kept.words[SHINES]) is not dark


def test_a_lamp_that_another_users_keeper_has_is_not_said_to_be_off(config: Config, monkeypatch: pytest.MonkeyPatch) -> None:
    """It cannot be ended from here, and a lamp without a line of its own is lit as long as it lives."""
    monkeypatch.setattr(darken, "holder_of", lambda _: Holder(os.getpid(), os.geteuid() + 1))
    monkeypatch.setattr(os, "geteuid", lambda: 4711)
    with pytest.raises(KeeperError, match="another user"):
        darken.make_dark(config)


class _Helpless:
    """The ending of a keeper whose lamp nobody can look after."""

    def lost(self) -> str:
        raise KeeperError("there is no chip any more")

    def beat(self, lit: bool) -> None:
        """Nothing is kept."""

    def close(self) -> None:
        """Nothing is held."""


def test_a_loss_is_told_whatever_fails_in_looking_after_the_lamp() -> None:
    """Untold, a run would wait for its light's end for ever."""
    ours, theirs = socket.socketpair()
    heard: list[Heard] = []
    with theirs:
        theirs.settimeout(10)
        theirs.sendall(encode(messages.to_frame(messages.HelloReply(2, 2, 0, 120_000_000, 1000, 1, 1), 1)))
        keeper = Keeper(ours, heard.append, _Helpless())
        assert Decoder().feed(theirs.recv(4096))
    keeper._thread.join(10)
    keeper.close()
    (lost,) = heard
    assert isinstance(lost, Lost)
    assert "no chip any more" in lost.text
