"""Starting a local keeper, and making sure of the dark when it is gone."""

import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

from timer.errors import KeeperError
from timer.keeper.claim import holder_of
from timer.keeper.config import Config
from timer.keeper.host import darken
from timer.keeper.host.client import Keeper, Listener
from timer.keeper.local.memory import memory_file, now_at, stopped
from timer.keeper.runtime import runtime_dir

GUARD_S = 0.4
"""How long the guard of a keeper that is gone may take to make it dark, before we do it ourselves."""


def start_local(config: Config, listen: Listener) -> Keeper:
    """Start a local keeper (spawned, its own session so that a terminal's signals do not reach it) and greet it."""
    ours, theirs = socket.socketpair()
    state = Path(config.state_dir)
    try:
        runtime_dir()
        state.mkdir(mode=0o700, parents=True, exist_ok=True)
        with (state / "keeper.log").open("ab") as log, theirs:
            # -P: nothing in the folder it is started from may stand in for a module.
            command = [sys.executable, "-P", "-m", "timer.keeper.local", config.as_argument(), str(theirs.fileno())]
            process = subprocess.Popen(
                command,
                cwd=state,  # pin libraries leave files where they stand
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                pass_fds=[theirs.fileno()],
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
    return Keeper(ours, listen, LocalEnding(process, config))


class LocalEnding:
    """The end of a keeper that is a process of ours."""

    def __init__(self, process: subprocess.Popen[bytes], config: Config) -> None:
        self._process, self._config = process, config

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
        path = memory_file(runtime_dir(), self._config.lamp_key)
        end = time.monotonic() + GUARD_S
        while (now := now_at(path)) and now.guard and not stopped(now.guard) and time.monotonic() < end:
            time.sleep(0.002)
        if now and (now.guard or now.shines):
            with suppress(ProcessLookupError, PermissionError):
                if now.guard:
                    os.kill(now.guard, signal.SIGKILL)
            darken.after_keeper(self._config)
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
