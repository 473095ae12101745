"""The host's end of the agent in the guest: orders that are answered, or raise."""

import itertools
import json
import socket
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

START = "\x1e"
WHOLE_LINE = 1500
"""Bytes sent at once: the guest's serial port keeps no more than a page for a reader that is late."""


class GuestError(Exception):
    """The guest did not do what it was told, or does not answer."""


@dataclass(frozen=True)
class Said:
    """How a program in the guest ended (None: it goes on) and what it said, on both its outputs."""

    code: int | None
    text: str

    @property
    def last(self) -> str:
        """Its last line."""
        return next((line.strip() for line in reversed(self.text.splitlines()) if line.strip()), "")


class Guest:
    """The agent on the other end of ``console``; all that comes is kept in ``log``."""

    def __init__(self, console: socket.socket, log: Path) -> None:
        self._console, self._log = console, log
        self._numbers = itertools.count(1)
        self._told = threading.Condition()
        self._answers: dict[int, dict[str, Any]] = {}
        self._ready = 0
        self._text = ""
        self._sending = threading.Lock()
        threading.Thread(target=self._read, name=f"console {log.parent.name}", daemon=True).start()

    def _read(self) -> None:
        rest = ""
        with self._log.open("a", errors="replace") as log:
            while True:
                try:
                    data = self._console.recv(65536)
                except OSError:
                    return
                if not data:
                    return
                text = data.decode(errors="replace")
                log.write(text)
                log.flush()
                *lines, rest = (rest + text).split("\n")
                with self._told:
                    self._text += text
                    for line in lines:
                        self._take(line)
                    self._told.notify_all()

    def _take(self, line: str) -> None:
        _, start, told = line.rpartition(START)
        if not start:
            return
        try:
            answer: dict[str, Any] = json.loads(told)
        except ValueError:
            return  # the kernel spoke in the middle of it: the order is sent again or times out
        if "ready" in answer:
            self._ready += 1
        else:
            self._answers[answer["n"]] = answer

    def wait_ready(self, seconds: float) -> None:
        """Until the agent has spoken for the first time since the last call. GuestError if it does not."""
        with self._told:
            if not self._told.wait_for(lambda: self._ready, seconds):
                raise GuestError(f"does not come up within {seconds:g} s: {self._text[-400:]!r}")
            self._ready = 0

    def printed(self, text: str, seconds: float) -> bool:
        """Whether ``text`` stands, or comes to stand, on the console."""
        with self._told:
            return bool(self._told.wait_for(lambda: text in self._text, seconds))

    def order(self, do: str, **arguments: Any) -> int:
        """Give an order; its number."""
        number = next(self._numbers)
        line = json.dumps({"n": number, "do": do, "with": arguments}).encode() + b"\n"
        with self._sending:
            for at in range(0, len(line), WHOLE_LINE):
                self._console.sendall(line[at : at + WHOLE_LINE])
                if len(line) > WHOLE_LINE:
                    time.sleep(0.05)
        return number

    def answer(self, number: int, seconds: float) -> Any:
        """The answer to an order. GuestError if the guest says no, or nothing."""
        with self._told:
            if not self._told.wait_for(lambda: number in self._answers, seconds):
                raise GuestError(f"no answer within {seconds:g} s: {self._text[-200:]!r}")
            answer = self._answers.pop(number)
        if "error" in answer:
            raise GuestError(answer["error"])
        return answer["answer"]

    def do(self, do: str, *, patience: float = 30.0, **arguments: Any) -> Any:
        """Give an order and wait for its answer."""
        return self.answer(self.order(do, **arguments), patience)

    # ── programs ─────────────────────────────────────────────────────────────

    def run(self, shell: str, *, seconds: float = 60.0, user: str = "root", cwd: str = "", **environ: str) -> Said:
        """A shell command, its input empty, until its end; one that takes longer than ``seconds`` is killed."""
        told = self.do("run", patience=seconds + 15, shell=shell, seconds=seconds, user=user, cwd=cwd, environ=environ)
        return Said(told["code"], told["said"])

    def start(
        self,
        name: str,
        shell: str,
        *,
        user: str = "root",
        cwd: str = "",
        terminal: bool = False,
        environ: dict[str, str] | None = None,
    ) -> None:
        """The same, and it goes on, its input open; it is known by ``name``."""
        self.do("start", name=name, shell=shell, user=user, cwd=cwd, environ=environ or {}, terminal=terminal)

    def tell(self, name: str, text: str) -> None:
        self.do("tell", name=name, text=text)

    def wait(self, name: str, seconds: float) -> Said:
        told = self.do("wait", patience=seconds + 15, name=name, seconds=seconds)
        return Said(told["code"], told["said"])
