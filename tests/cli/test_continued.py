"""A run at the console that was stopped by Ctrl-Z and goes on by fg."""

import fcntl
import os
import pty
import signal
import subprocess
import sys
import termios
import time
from collections.abc import Callable
from pathlib import Path

from tests.tools.witness import Witness

RUN = ["strip", "--from", "2", "--step", "1/2", "--patches", "2", "--way", "window"]


def _until(what: Callable[[], bool], seconds: float = 30) -> bool:
    end = time.monotonic() + seconds
    while not (came := what()) and time.monotonic() < end:
        time.sleep(0.01)
    return came


def _waits_for_enter(terminal: int) -> bool:
    return bool(termios.tcgetattr(terminal)[3] & termios.ICANON)


def test_each_key_is_read_as_it_is_pressed_again(home: Path, witness: Witness) -> None:
    """Its shell has put its own terminal modes back, as shells do (termios(3), ICANON): Space would wait for Enter."""
    ours, theirs = pty.openpty()

    def own_terminal() -> None:
        os.setsid()
        fcntl.ioctl(0, termios.TIOCSCTTY, 0)

    as_the_shell_has_it = termios.tcgetattr(theirs)
    command = [sys.executable, "-m", "timer.cli", *RUN]
    run = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, preexec_fn=own_terminal)
    try:
        assert _until(lambda: not _waits_for_enter(theirs))
        run.send_signal(signal.SIGSTOP)
        os.waitid(os.P_PID, run.pid, os.WSTOPPED)
        termios.tcsetattr(theirs, termios.TCSANOW, as_the_shell_has_it)
        run.send_signal(signal.SIGCONT)
        assert _until(lambda: not _waits_for_enter(theirs))
        os.write(ours, b"q")
        assert _until(lambda: run.poll() is not None)
        assert _waits_for_enter(theirs)
    finally:
        run.kill()
        run.wait()
        os.close(ours)
        os.close(theirs)
