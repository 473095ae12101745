"""The other end of a simulated lamp's wire, or of wired mock pins: sees every edge, from a process of its own mind.

Edges carry the keeper's stamp of the moment; the end of the wire carries ours, and means dark, as the pull on a
released GPIO line does.
"""

import os
import socket
import sys
import threading
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Edge:
    on: bool
    at_ns: int
    released: bool = False  # dark because its keeper is gone


OBSERVER, BESIDE = 70, 45
"""Priorities: of who sees the edges, before even a keeper that is dying; and of who waits for that one."""


def on_time(priority: int = BESIDE) -> None:
    """This thread before all that is not about the lamp: an observer that is late, or waits for a late one, sees less.

    What it starts has an ordinary place again. Nothing where it is not permitted. Python's own lock is handed on
    within a fifth of a millisecond, too: by itself it keeps a thread waiting for five.
    """
    sys.setswitchinterval(0.0002)
    with suppress(OSError):
        os.sched_setscheduler(threading.get_native_id(), os.SCHED_FIFO | os.SCHED_RESET_ON_FORK, os.sched_param(priority))


class Edges:
    """What was seen of a lamp: every edge, and whatever else was told."""

    def __init__(self) -> None:
        self.edges: list[Edge] = []
        self.other: list[str] = []
        self.changed = threading.Condition()

    @property
    def lit(self) -> bool:
        return bool(self.edges) and self.edges[-1].on

    def wait(self, lit: bool, seconds: float = 10.0, *, more_than: int = 0) -> Edge:
        """The last edge, once the lamp is ``lit`` (or not) and there are more than so many edges."""
        with self.changed:
            came = self.changed.wait_for(lambda: self.lit == lit and len(self.edges) > more_than, seconds)
            assert came, f"the lamp was not {'lit' if lit else 'dark'} within {seconds} s"
            return self.edges[-1] if self.edges else Edge(False, 0)

    def exposures_ns(self) -> list[int]:
        """How long each light lasted."""
        times = [e.at_ns for e in self.edges]
        return [off - on for on, off in zip(times[::2], times[1::2], strict=False)]


class Witness(Edges):
    def __init__(self, path: Path) -> None:
        super().__init__()
        self.path = path
        self._link: socket.socket | None = None
        self._server = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self._server.bind(str(path))
        self._server.listen(8)
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        on_time(OBSERVER)
        while True:
            try:
                link, _ = self._server.accept()
            except OSError:
                return
            with self.changed:
                self._link = link
                self.changed.notify_all()
            held = b""
            while True:
                try:
                    data = link.recv(4096)
                except OSError:
                    data = b""
                at = time.monotonic_ns()
                *lines, held = (held + data).split(b"\n")
                with self.changed:
                    for line in lines:
                        self._line(line.decode())
                    if not data and self.lit:
                        self.edges.append(Edge(False, at, released=True))
                    self.changed.notify_all()
                if not data:
                    link.close()
                    break

    def _line(self, line: str) -> None:
        if line.startswith("L"):
            level, _, at = line[1:].partition(" ")
            self.edges.append(Edge(level == "1", int(at)))
        else:
            self.other.append(line)

    def tell(self, line: str) -> None:
        """Send to the board: P1 and P0 are the footswitch."""
        with self.changed:
            assert self.changed.wait_for(lambda: self._link is not None, 10)
        assert self._link
        self._link.sendall(line.encode() + b"\n")

    def close(self) -> None:
        self._server.shutdown(socket.SHUT_RDWR)
        self._server.close()
        if self._link:
            self._link.close()
        self._thread.join(2)
