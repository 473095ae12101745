"""Runs in the guest: takes orders on the serial port, one JSON object a line, and answers each by its number.

It also is the hand that kills: it holds the marker line, which it raises in one breath with the signal, so that the
moment of a kill is seen from outside as a pin's edge is.
"""

import contextlib
import fcntl
import json
import os
import pty
import queue
import signal
import subprocess
import sys
import termios
import threading
import time
import tty
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

START = "\x1e"
"""Before every answer: whatever else the kernel prints on this port has none."""
ENVIRON = {**os.environ, "LAMPHOUSE_HOME": "/tmp/home", "TERM": "linux"}


class Job:
    """A program that was started and goes on; what it says is kept."""

    def __init__(self, shell: str, user: str, cwd: str, environ: dict[str, str], terminal: bool) -> None:
        self.terminal: int | None = None
        self._said = bytearray()
        stdin: int = subprocess.PIPE
        out: int = subprocess.PIPE
        if terminal:
            self.terminal, slave = pty.openpty()
            stdin = out = slave
            shell = f"exec <{os.ttyname(slave)}; {shell}"  # the first it opens is the terminal that controls it
        groups: dict[str, Any] = {}
        if user != "root":
            groups = {"user": user, "group": user, "extra_groups": ["gpio", "dialout"]}
        env = {**ENVIRON, **environ} | ({} if user == "root" else {"HOME": f"/home/{user}"})
        self.process = subprocess.Popen(
            ["/bin/sh", "-c", shell], cwd=cwd or "/tmp", env=env, stdin=stdin, stdout=out, stderr=subprocess.STDOUT,
            start_new_session=True, **groups,
        )  # fmt: skip
        if terminal:
            os.close(slave)
        said = self.process.stdout
        self._from = self.terminal if self.terminal is not None else said.fileno() if said else -1
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        """Keep what it says. Looks now and then: a terminal does not hang up while somebody waits in a read of it."""
        os.set_blocking(self._from, False)
        with suppress(OSError):
            while True:
                try:
                    data = os.read(self._from, 65536)
                except BlockingIOError:
                    time.sleep(0.01)
                    continue
                if not data:
                    return
                self._said += data

    def tell(self, text: str) -> None:
        to = self.process.stdin
        os.write(self.terminal if self.terminal is not None else to.fileno() if to else -1, text.encode())

    def hang_up(self) -> None:
        """Close its terminal, or the end of its input."""
        if self.terminal is not None:
            os.close(self.terminal)
            self.terminal = None
        elif self.process.stdin:
            self.process.stdin.close()

    def wait(self, seconds: float) -> dict[str, Any]:
        """How it ended (None: it has not) and what it said."""
        with suppress(subprocess.TimeoutExpired):
            self.process.wait(seconds)
            self._reader.join(0.3)
        return {"code": self.process.returncode, "said": self._said.decode(errors="replace")}

    def kill(self) -> None:
        with suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)


class Agent:
    """Orders by name; each runs on a thread of its own."""

    def __init__(self) -> None:
        self._jobs: dict[str, Job] = {}
        self._marker: Any = None

    # ── programs ─────────────────────────────────────────────────────────────

    def run(self, shell: str, seconds: float, user: str, cwd: str, environ: dict[str, str]) -> dict[str, Any]:
        job = Job(shell, user, cwd, environ, terminal=False)
        job.hang_up()
        told = job.wait(seconds)
        if told["code"] is None:
            job.kill()
        return told

    def start(self, name: str, shell: str, user: str, cwd: str, environ: dict[str, str], terminal: bool) -> None:
        self._jobs[name] = Job(shell, user, cwd, environ, terminal)

    def tell(self, name: str, text: str) -> None:
        self._jobs[name].tell(text)

    def hang_up(self, name: str) -> None:
        self._jobs[name].hang_up()

    def wait(self, name: str, seconds: float) -> dict[str, Any]:
        return self._jobs[name].wait(seconds)

    def put(self, path: str, text: str) -> None:
        Path(path).parent.mkdir(parents=True, exist_ok=True)
        Path(path).write_text(text)

    # ── the lamp's processes ─────────────────────────────────────────────────

    def marker(self, offset: int) -> str:
        """Hold the marker line; the chip it is on."""
        import gpiod

        low = gpiod.LineSettings(direction=gpiod.line.Direction.OUTPUT, output_value=gpiod.line.Value.INACTIVE)
        chip = _header_chip()
        self._marker = (gpiod.request_lines(chip, consumer="marker", config={offset: low}), offset)
        return chip

    def _mark(self, high: bool) -> None:
        from gpiod.line import Value

        lines, offset = self._marker
        lines.set_value(offset, Value.ACTIVE if high else Value.INACTIVE)

    def who(self, key: str) -> dict[str, int]:
        """Who is at the lamp ``key`` now, by the kernel: whose it is, what that one started, and what started that one."""
        from timer.keeper.claim import holder_of

        holder = holder_of(key)
        keeper = holder.process if holder else 0
        return {"keeper": keeper, "guard": _child(keeper), "app": _parent(keeper)}

    def book(self, path: str) -> list[Any]:
        """Low, high (µs of lamp-on time) and end of every exposure of the last run in a notebook."""
        import sqlite3

        with contextlib.closing(sqlite3.connect(path)) as db:
            asked = "SELECT low_us, high_us, why FROM exposure WHERE run = (SELECT max(id) FROM run) ORDER BY number"
            return db.execute(asked).fetchall()

    def hit(self, processes: list[int], name: str) -> list[int]:
        """Raise the marker and send the signal to all ``processes``; those that were there. The marker falls at once after."""
        number = getattr(signal, f"SIG{name}")
        if not all(process > 1 for process in processes):  # 0 and 1 would be this agent's own kin
            raise ValueError(f"nobody to be hit among {processes}")
        there = []
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(80))  # nothing between the mark and the signal
        try:
            self._mark(True)
            for process in processes:
                with suppress(ProcessLookupError):
                    os.kill(process, number)
                    there.append(process)
        finally:
            os.sched_setscheduler(0, os.SCHED_OTHER, os.sched_param(0))
        time.sleep(0.02)
        self._mark(False)
        return there

    def freeze(self, processes: list[int]) -> None:
        """Hold processes where they are, as if they hung: they take no signal but KILL, and no one says they are stopped.

        By the freezer of a control group (kernel: cgroup-v2). The marker rises with it.
        """
        group = Path("/sys/fs/cgroup/frozen")
        if not group.parent.joinpath("cgroup.procs").exists():
            subprocess.run(["mount", "-t", "cgroup2", "none", str(group.parent)], check=True)
        group.mkdir(exist_ok=True)
        (group / "cgroup.freeze").write_text("0")
        for process in processes:
            (group / "cgroup.procs").write_text(str(process))
        self._mark(True)
        (group / "cgroup.freeze").write_text("1")
        time.sleep(0.02)
        self._mark(False)

    def thaw(self) -> None:
        """Let those that hang go on."""
        Path("/sys/fs/cgroup/frozen/cgroup.freeze").write_text("0")

    def signal(self, processes: list[int], name: str) -> None:
        """Send a signal without a mark."""
        for process in processes:
            with suppress(ProcessLookupError):
                os.kill(process, getattr(signal, f"SIG{name}"))

    def mark_and_hang_up(self, name: str) -> None:
        """Raise the marker and take a program's terminal away in one breath."""
        self._mark(True)
        self._jobs[name].hang_up()
        time.sleep(0.02)
        self._mark(False)

    def type(self, tty: str, text: str) -> None:
        """Keys on a console, as if by hand (ioctl_tty(2), TIOCSTI)."""
        with open(tty, "rb", buffering=0) as console:
            for key in text.encode():
                fcntl.ioctl(console, termios.TIOCSTI, bytes([key]))

    def signal_job(self, name: str, number: str) -> None:
        """Send a signal to a program that was started here."""
        os.killpg(self._jobs[name].process.pid, getattr(signal, f"SIG{number}"))

    def make_dark(self, pin: int, at_start: bool) -> dict[str, Any]:
        """What ``lamp off`` does, marked; with ``at_start`` in the moment when a keeper appears."""
        from timer.keeper.claim import holder_of
        from timer.keeper.config import Config
        from timer.keeper.host.darken import make_dark

        config = Config("/tmp/home", lamp="gpio", lamp_pin=pin)
        end = time.monotonic() + 30
        while at_start and not holder_of(config.lamp_key) and time.monotonic() < end:
            time.sleep(0.001)
        began = time.monotonic()
        self._mark(True)
        done = make_dark(config)
        self._mark(False)
        return {"seen": done.seen, "says": done.says, "ended": done.ended, "after_ms": (time.monotonic() - began) * 1000}

    def sweep(self, home: str) -> str:
        """End everything that a case has left; what it said, and the keeper's log."""
        for job in self._jobs.values():
            job.kill()
        said = [f"{name}: {job.wait(2)}" for name, job in self._jobs.items()]
        self._jobs.clear()
        for folder in Path("/proc").glob("[0-9]*"):
            with suppress(OSError):
                if b"timer.keeper" in (folder / "cmdline").read_bytes():
                    os.kill(int(folder.name), signal.SIGKILL)
        with suppress(OSError):
            said.append(f"keeper.log: {(Path(home) / 'keeper.log').read_text()[-2000:]}")
        return "\n".join(said)


def _header_chip() -> str:
    """The chip that has the most lines: a Pi has a small second one."""
    import gpiod

    found = {}
    for path in Path("/dev").glob("gpiochip*"):
        with gpiod.Chip(str(path)) as chip:
            found[chip.get_info().num_lines] = str(path)
    return found[max(found)]


def _parent(process: int) -> int:
    """The process that started ``process``; 0 if it is gone."""
    with suppress(OSError):
        parent = int(Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[1])
        return parent if parent > 1 else 0
    return 0


def _child(process: int) -> int:
    """A process that ``process`` has started and that lives; 0 if there is none."""
    with suppress(OSError):
        for child in Path(f"/proc/{process}/task/{process}/children").read_text().split():
            return int(child)
    return 0


def main() -> None:
    """Serve the port given first, until it ends."""
    port = os.open(sys.argv[1], os.O_RDWR | os.O_NOCTTY)
    tty.setraw(port)
    agent = Agent()
    answers: queue.SimpleQueue[str] = queue.SimpleQueue()

    def write() -> None:
        while True:
            data = answers.get().encode()
            while data:
                data = data[os.write(port, data) :]

    def serve(order: dict[str, Any]) -> None:
        try:
            does: Callable[..., Any] = getattr(agent, order["do"])
            told = {"n": order["n"], "answer": does(**order.get("with", {}))}
        except Exception as error:
            told = {"n": order["n"], "error": repr(error)}
        answers.put(f"{START}{json.dumps(told)}\n")

    threading.Thread(target=write, daemon=True).start()
    answers.put(f"{START}{json.dumps({'ready': True})}\n")
    with os.fdopen(port, "rb", buffering=0, closefd=False) as orders:
        rest = b""
        while data := orders.read(4096):
            *lines, rest = (rest + data).split(b"\n")
            for line in lines:
                with suppress(ValueError):
                    threading.Thread(target=serve, args=(json.loads(line),), daemon=True).start()


if __name__ == "__main__":
    main()
