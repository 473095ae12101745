"""A fake serial line on a script: what the host must say, to the byte, and what it hears for it.

    lines = [Hear(Hello(), 1), Say(HELLO, 1), Hear(Halt(), 2), Say(Done(), 2)]
    with Dialogue(lines) as line, Keeper(line.link, heard.append, line.ending) as keeper:
        keeper.halt()

At its end all of it must have been said and heard, and nothing else. Heartbeats come when they come: they are answered
by themselves, and so is a command that is sent again, as a keeper would: with what it was answered before.
"""

import select
import socket
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from types import TracebackType
from typing import Self

from timer.keeper.wire import messages
from timer.keeper.wire.frames import encode

BEAT = encode(messages.to_frame(messages.Heartbeat(), 0)).strip(b"\0")
HALT = encode(messages.to_frame(messages.Halt(), 0)).strip(b"\0")
LOST = "the line is gone"


@dataclass(frozen=True)
class Hear:
    """The host says ``command``, by this number, and nothing before it; ``lost`` times it says it in vain first."""

    command: messages.Command
    number: int
    lost: int = 0


@dataclass(frozen=True)
class Say:
    """The host hears ``message`` after ``delay_s``, so many ``times``: 0, and it is lost. ``noise`` comes before it."""

    message: messages.Message
    number: int
    delay_s: float = 0.0
    times: int = 1
    noise: bytes = b""


@dataclass(frozen=True)
class Silence:
    """From here on nothing is heard any more; ``deaf``: and nothing that is said matters. It ends with the host's own end."""


@dataclass(frozen=True)
class HangUp:
    """The line is gone."""


Line = Hear | Say | Silence | HangUp


class Dialogue:
    """``link`` and ``ending`` are what a Keeper takes. ``said``: the frames (unstuffed not) that the host said, beats left out."""

    def __init__(self, lines: Sequence[Line]) -> None:
        self.link, self._far = socket.socketpair()
        self.ending = Ending()
        self.repeats = 0
        self.said: list[bytes] = []
        self._lines = [*lines]
        self._at = 0
        self._events = 0
        self._silent = False
        self._in_vain = 0
        self._held = b""
        self._answers: dict[bytes, bytes] = {}
        self._heard: bytes | None = None
        self._due = 0.0
        self._faults: list[str] = []
        self._thread = threading.Thread(target=self._serve, name="dialogue")
        self._thread.start()

    # ── the keeper's side ────────────────────────────────────────────────────

    def _serve(self) -> None:
        while True:
            self._speak()
            wait = max(0.0, min(0.05, self._due - time.monotonic())) if self._due else 0.05
            if not select.select([self._far], [], [], wait)[0]:
                continue
            try:
                data = self._far.recv(4096)
            except OSError:
                data = b""
            if not data:
                return
            *frames, self._held = (self._held + data).split(b"\0")
            for frame in frames:
                if frame:
                    self._hear(frame)
                    self._speak()

    def _speak(self) -> None:
        """All that is due of what the host is to hear."""
        while self._at < len(self._lines) and not self._silent:
            line = self._lines[self._at]
            match line:
                case Hear():
                    return
                case Silence():
                    self._silent = True
                case HangUp():
                    self._silent = True
                    self._far.shutdown(socket.SHUT_WR)
                case Say():
                    if line.delay_s and not self._due:
                        self._due = time.monotonic() + line.delay_s
                    if self._due and time.monotonic() < self._due:
                        return
                    self._due = 0.0
                    self._say(line)
            self._at += 1

    def _say(self, line: Say) -> None:
        data = encode(messages.to_frame(line.message, line.number))
        if isinstance(line.message, messages.Event):
            self._events = line.number
        elif self._heard is not None:
            self._answers[self._heard] = data
        if line.times and not self._send(line.noise + data * line.times):
            self._faults.append(f"the host was gone before {line}")

    def _send(self, data: bytes) -> bool:
        try:
            self._far.sendall(data)
        except OSError:
            return False
        return True

    def _hear(self, frame: bytes) -> None:
        if frame == BEAT:
            if not self._silent:
                lit = isinstance(self._last_event(), messages.Lit)
                state = messages.State.LIT if lit else messages.State.IDLE
                reply = messages.HeartbeatReply(state, lit, time.monotonic_ns() // 1000, self._events)
                self._send(encode(messages.to_frame(reply, 0)))
            return
        self.said.append(frame)
        line = self._lines[self._at] if self._at < len(self._lines) else None
        if self._silent:
            return
        if isinstance(line, Hear) and frame == encode(messages.to_frame(line.command, line.number)).strip(b"\0"):
            if self._in_vain < line.lost:
                self._in_vain += 1
                return
            self._in_vain = 0
            self._heard = frame
            self._at += 1
        elif frame in self._answers:
            self.repeats += 1
            self._send(self._answers[frame])
        elif frame == self._heard:
            self.repeats += 1  # it is on its way
        else:
            self._faults.append(f"said {frame.hex()} where {line} was due")

    def _last_event(self) -> messages.Message | None:
        said = [
            line.message
            for line in self._lines[: self._at]
            if isinstance(line, Say) and isinstance(line.message, messages.Event)
        ]
        return said[-1] if said else None

    # ── the end ──────────────────────────────────────────────────────────────

    def close(self) -> None:
        """AssertionError if not all was said and heard, to the last byte."""
        self._thread.join(5)
        assert not self._thread.is_alive(), "the host did not close the line"
        self._far.close()
        self.link.close()
        if self._held:
            self._faults.append(f"{len(self._held)} bytes of a frame that had no end")
        if self._at < len(self._lines):
            self._faults.append(f"never came to {self._lines[self._at]}")
        assert not self._faults, "; ".join(self._faults)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        if error is not None:
            self.link.close()
            self._thread.join(5)
            self._far.close()
            return
        self.close()


class Ending:
    """Of a keeper that is no process: what the client made of it."""

    def __init__(self) -> None:
        self.lits: list[bool] = []
        self.losses = self.closes = 0

    def beat(self, lit: bool) -> None:
        self.lits.append(lit)

    def lost(self) -> str:
        self.losses += 1
        return LOST

    def close(self) -> None:
        self.closes += 1
