"""The app on a real pseudo-terminal: what is really written, for every kind of colour, and how it ends."""

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.tools.witness import Witness

RED_256 = {16, 52, 88, 124, 160, 196}
SGR = re.compile(r"\x1b\[([0-9;]*)m")


class Terminal:
    """The app's other end. Reads all that comes."""

    def __init__(self, env: dict[str, str]) -> None:
        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        plain = {k: v for k, v in os.environ.items() if k not in ("COLORTERM", "NO_COLOR", "TEXTUAL_COLOR_SYSTEM")}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tui"], stdin=slave, stdout=slave, stderr=slave, env={**plain, **env}, start_new_session=True
        )  # fmt: skip
        self.before = termios.tcgetattr(slave)
        self.slave = slave
        self.seen = ""
        self.since = 0

    def read(self, seconds: float) -> str:
        end = time.monotonic() + seconds
        got = ""
        while (left := end - time.monotonic()) > 0:
            if select.select([self.master], [], [], left)[0]:
                try:
                    got += os.read(self.master, 65536).decode(errors="replace")
                except OSError:
                    break
        self.seen += got
        return got

    def until(self, true: Callable[[str], bool], seconds: float = 8.0) -> str:
        """Wait for ``true`` of all that was written since the last keys."""
        end = time.monotonic() + seconds
        while not true(self.seen[self.since :]):
            assert time.monotonic() < end, self.seen[-2000:]
            self.read(0.05)
        return self.seen[self.since :]

    def keys(self, text: str) -> None:
        self.since = len(self.seen)
        for char in text:
            os.write(self.master, char.encode())
            self.read(0.15)


@contextmanager
def terminal(**env: str) -> Iterator[Terminal]:
    made = Terminal(env)
    try:
        yield made
    finally:
        made.process.kill()
        made.process.wait()
        os.close(made.slave)
        os.close(made.master)


def colours(data: str) -> set[str]:
    """Every colour that an SGR sequence in ``data`` asks for, as written."""
    out: set[str] = set()
    for body in SGR.findall(data):
        codes = [int(c or 0) for c in body.split(";")]
        while codes:
            code = codes.pop(0)
            if code in (38, 48) and codes[:1] == [2]:
                out.add("rgb {} {} {}".format(*codes[1:4]))
                codes = codes[4:]
            elif code in (38, 48) and codes[:1] == [5]:
                out.add(f"256 {codes[1]}")
                codes = codes[2:]
            elif 30 <= code <= 49 or 90 <= code <= 107:
                out.add(f"16 {code}")
    return out


def pure(colour: str) -> bool:
    kind, *values = colour.split()
    numbers = [int(v) for v in values]
    if kind == "rgb":
        return numbers[1:] == [0, 0]
    if kind == "256":
        return numbers[0] in RED_256
    return numbers[0] in (30, 31, 40, 41)


@pytest.mark.parametrize(
    ("env", "kind"),
    [
        ({"TERM": "xterm-256color", "COLORTERM": "truecolor"}, "rgb"),
        ({"TERM": "xterm-256color"}, "256"),
        ({"TERM": "linux"}, "16"),
    ],
)
@pytest.mark.parametrize("dimmer", [0, 4])
def test_red_is_all_that_is_written(home: Path, env: dict[str, str], kind: str, dimmer: int) -> None:
    (home / "settings.toml").write_text("speech = false\nask = false\n")
    with terminal(**env) as term:
        term.until(lambda got: "get ready" in got)
        term.keys("\r")
        term.until(lambda got: "paper is out" in got)
        term.keys("\r")  # the box is open: from here all is red
        term.read(0.6)
        before = len(term.seen)
        term.keys("d" * dimmer + "\r")
        term.read(0.8)
        term.keys("?")
        term.read(0.4)
        after = term.seen[before:]
        used = colours(after)
        assert used, "nothing was drawn"
        assert {c.split()[0] for c in used} == {kind}
        assert [c for c in used if not pure(c)] == []
        remapped = term.seen.count("\x1b]P") // 16 if kind == "16" else term.seen.count("\x1b]11;#000000")
        assert remapped >= 1 + dimmer


def test_dark_is_all_black(home: Path) -> None:
    (home / "settings.toml").write_text("speech = false\nask = false\n")
    with terminal(TERM="xterm-256color", COLORTERM="truecolor") as term:
        term.until(lambda got: "get ready" in got)
        term.keys("k\r")  # colour paper
        term.until(lambda got: "DARK, by ear" in got)
        term.keys("\r")
        term.read(0.8)
        before = len(term.seen)
        term.keys("\r")
        term.read(0.8)
        term.keys("d?v")
        after = term.seen[before:]
        assert colours(after) <= {"rgb 0 0 0"}
        assert not re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]|\x1b\][^\x07]*\x07|[\s\x07]", "", after)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_signals_restore_the_terminal_and_darken_the_lamp(home: Path, witness: Witness, number: int) -> None:
    (home / "settings.toml").write_text("speech = false\nask = false\n")
    with terminal(TERM="xterm-256color", COLORTERM="truecolor") as term:
        term.until(lambda got: "get ready" in got)
        term.keys("\r\r\r")
        term.read(0.4)
        term.keys("\r")
        witness.wait(True)
        term.process.send_signal(number)
        assert not witness.wait(False, 1).on
        end = term.until(lambda got: "\x1b[?1049l" in got)
        end += term.read(0.5)
        assert term.process.wait(5) == 128 + number
        assert "Traceback" not in end
        assert "\x1b[?25h" in end
        # paper is out: what is left behind is cleared, in red
        assert "\x1b[0;31;40m\x1b[2J" in end
        flags = termios.tcgetattr(term.slave)[3]
        assert flags & termios.ECHO
        assert flags & termios.ICANON


def test_a_killed_app_leaves_the_lamp_dark_and_comes_back_in_red(home: Path, witness: Witness) -> None:
    (home / "settings.toml").write_text("speech = false\nask = false\n")
    env = {"TERM": "xterm-256color", "COLORTERM": "truecolor"}
    with terminal(**env) as term:
        term.until(lambda got: "get ready" in got)
        term.keys("\r\r\r")
        term.read(0.4)
        term.keys("\r")
        witness.wait(True)
        term.process.kill()
        assert not witness.wait(False, 1).on
    with terminal(**env) as term:
        got = term.until(lambda got: "PAPER IS OUT" in got)
        assert "the rest" in got
        used = colours(got)
        assert used
        assert [c for c in used if not pure(c)] == []


def test_no_terminal_is_help_not_a_crash() -> None:
    done = subprocess.run([sys.executable, "-m", "tui"], capture_output=True, text=True, stdin=subprocess.DEVNULL)
    assert done.returncode == 2
    assert "Commands" in done.stdout + done.stderr
