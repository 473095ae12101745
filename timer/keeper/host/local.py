"""Starting a local keeper, and making sure of the dark when it is gone."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from timer.errors import KeeperError
from timer.keeper import off_mark
from timer.keeper.claim import holder_of
from timer.keeper.config import Config
from timer.keeper.host import darken
from timer.keeper.host.client import Keeper, Listener
from timer.keeper.local.memory import Now, memory_file, now_at, stopped
from timer.keeper.runtime import runtime_dir

GUARD_S = 0.25
"""How long after its last sign of life a guard may be at making it dark, before we do it ourselves."""


def start_local(config: Config, listen: Listener) -> Keeper:
    """Start a local keeper (spawned, its own session so that a terminal's signals do not reach it) and greet it.

    If we sit at a terminal the keeper watches it too: closed, it is dark before we have got our turn.
    """
    ours, theirs = socket.socketpair()
    state = Path(config.state_dir)
    try:
        folder = runtime_dir()
        state.mkdir(mode=0o700, parents=True, exist_ok=True)
        with (state / "keeper.log").open("ab") as log, theirs, _terminal() as terminal:
            passed = [theirs.fileno(), *terminal]
            # -P: nothing in the folder it is started from may stand in for a module.
            command = [sys.executable, "-P", "-m", "timer.keeper.local", config.as_argument(), *map(str, passed)]
            process = subprocess.Popen(
                command,
                cwd=state,  # pin libraries leave files where they stand
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                pass_fds=passed,
                start_new_session=True,
            )
    except OSError as error:
        ours.close()
        raise KeeperError(f"the keeper cannot be started from {state}: {error.strerror or error}") from None
    except KeeperError:
        ours.close()
        theirs.close()
        raise
    with suppress(KeeperError):
        darken.line_of(config)  # loads the pin library while the keeper starts, not when keeper and guard have died
    return Keeper(ours, listen, LocalEnding(process, config, folder))


@contextmanager
def _terminal() -> Iterator[list[int]]:
    """The terminal we sit at, by a number of its own: the keeper's own input is none."""
    terminal = [os.dup(0)] if os.isatty(0) else []
    try:
        yield terminal
    finally:
        for fd in terminal:
            os.close(fd)


class LocalEnding:
    """The end of a keeper that is a process of ours. ``folder``: where its memory is, or was when it began."""

    def __init__(self, process: subprocess.Popen[bytes], config: Config, folder: Path) -> None:
        self._process, self._config, self._folder = process, config, folder
        self._began_ns = off_mark.now_ns()

    def lost(self) -> str:
        """The keeper is gone or hangs. Its guard has seen to the dark, or we do."""
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(0.05)
        if self._process.poll() is None:
            self._process.kill()
            with suppress(subprocess.TimeoutExpired):
                self._process.wait(1)
        holder = holder_of(self._config.lamp_key)
        if holder and holder.process != self._process.pid:
            # Ours was refused, for another has the lamp: that one's guard and light are none of our business.
            return "the keeper did not start: another has the lamp"
        path = memory_file(self._folder, self._config.lamp_key)
        while (now := now_at(path)) and _at_it(now):
            time.sleep(0.002)
        if now and now.guard:  # stopped, mute, or about to end: it has nothing left to guard
            with suppress(ProcessLookupError, PermissionError):
                os.kill(now.guard, signal.SIGKILL)
        # Without its memory nobody can tell whether it left light behind: a folder in memory goes with a log-out.
        if (now is None or now.shines) and not darken.after_keeper(self._config):
            return "the keeper is gone, and its lamp could not be seen to be dark: pull the lamp's plug"
        if off_mark.is_later(self._folder, self._config.lamp_key, self._began_ns):
            return "the lamp was switched off from elsewhere, and is dark"
        return "the keeper is gone, and its lamp is dark"

    def beat(self, lit: bool) -> None:
        """It keeps its own memory."""

    def close(self) -> None:
        """Asked already; then TERM, then KILL."""
        for number in (0, signal.SIGTERM, signal.SIGKILL):
            self._process.send_signal(number)
            with suppress(subprocess.TimeoutExpired):
                self._process.wait(2)
                return


def _at_it(now: Now) -> bool:
    """Whether the guard may be expected to make it dark by itself: it is neither stopped nor mute."""
    mute_ns = time.monotonic_ns() - now.guarded_ns
    return bool(now.shines and now.guard) and not stopped(now.guard) and mute_ns < GUARD_S * 1e9
