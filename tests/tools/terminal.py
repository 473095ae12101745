"""The app on a real pseudo-terminal, with a model of what is seen on it at every moment."""

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from tests.tools.terminal_model import Model

DEPTHS = {
    "truecolor": {"TERM": "xterm-256color", "COLORTERM": "truecolor"},
    "256": {"TERM": "xterm-256color"},
    "16": {"TERM": "xterm"},
    "linux": {"TERM": "linux"},
}
REST_S = 0.45
"""Between keys: enough that each is a press of its own."""
LIGHT_S = 1.25
"""Before a press that gives light: enough that it is certainly no key that is held."""


class Terminal:
    """The app's other end. Reads all that comes. A second app may be started on it, as from a shell."""

    def __init__(self, env: dict[str, str], size: tuple[int, int] = (80, 24), runs: str = "") -> None:
        self._runs = runs or _RUNS
        self.master, self.slave = pty.openpty()
        fcntl.ioctl(self.slave, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        plain = {k: v for k, v in os.environ.items() if k not in ("COLORTERM", "NO_COLOR", "TEXTUAL_COLOR_SYSTEM")}
        self._env = {**plain, **env}
        self.path = os.ttyname(self.slave)
        self.before = termios.tcgetattr(self.slave)
        self.model = Model(*size, linux=env.get("TERM") == "linux", knows_osc=env.get("KNOWS_OSC") != "0")
        self.seen = ""
        self.since = 0
        self.start()

    def start(self) -> None:
        """The screen, with this as its controlling terminal."""
        # A session's end hangs its terminal up: whoever comes next opens it anew, as a login does.
        again = os.open(self.path, os.O_RDWR | os.O_NOCTTY)
        os.close(self.slave)
        self.slave = again
        self.process = subprocess.Popen(
            [sys.executable, "-c", _OWN_TERMINAL + self._runs],
            stdin=self.slave, stdout=self.slave, stderr=self.slave, env=self._env, start_new_session=True,
        )  # fmt: skip

    def read(self, seconds: float) -> str:
        end = time.monotonic() + seconds
        got = ""
        while (left := end - time.monotonic()) > 0:
            if select.select([self.master], [], [], left)[0]:
                try:
                    data = os.read(self.master, 65536).decode(errors="replace")
                except OSError:
                    time.sleep(min(left, 0.02))
                    continue
                self.model.feed(data)
                got += data
        self.seen += got
        return got

    def until(self, true: Callable[[str], bool], seconds: float = 15.0) -> str:
        """Wait for ``true`` of all that was written since the last keys."""
        end = time.monotonic() + seconds
        while not true(self.seen[self.since :]):
            assert time.monotonic() < end, self.seen[-2000:]
            self.read(0.01)
        return self.seen[self.since :]

    def shows(self, text: str, seconds: float = 15.0) -> None:
        """Wait until ``text`` stands on the page."""
        end = time.monotonic() + seconds
        while text not in self.model.text:
            assert time.monotonic() < end, self.model.text
            self.read(0.05)

    def keys(self, text: str, rest: float = REST_S) -> None:
        self.since = len(self.seen)
        for char in text:
            os.write(self.master, char.encode())
            self.read(rest)

    def light(self) -> None:
        """A press that is certain to be one."""
        self.read(LIGHT_S)
        self.keys("\r", 0.1)

    def close(self) -> int:
        """As a window that is closed; when, in ns of the monotonic clock. Nothing can be read any more."""
        os.close(self.slave)
        at = time.monotonic_ns()
        os.close(self.master)
        self.slave, self.master = (os.open("/dev/null", os.O_RDWR) for _ in range(2))
        return at

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGKILL)
        self.process.wait()


# It becomes the terminal's owner first, as a shell's child is: a terminal that is closed then says so by a signal.
_OWN_TERMINAL = "import fcntl, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 1); "
_RUNS = "from tui.entry import main; main()"


@contextmanager
def terminal(size: tuple[int, int] = (80, 24), runs: str = "", /, **env: str) -> Iterator[Terminal]:
    """A terminal with the screen on it, or with what the Python of ``runs`` shows."""
    made = Terminal(env, size, runs)
    try:
        yield made
    finally:
        made.end()
        os.close(made.slave)
        os.close(made.master)
