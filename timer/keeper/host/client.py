"""The host's end of the link: commands that are answered or raise, events in a callback, a heartbeat meanwhile."""

import os
import select
import socket
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from types import TracebackType
from typing import Protocol, Self, TypeVar

from timer.errors import KeeperError, Refused
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Decoder, encode
from timer.keeper.wire.messages import RefusalReason

BEAT_S = 0.2
ANSWER_S = 0.5
TRIES = 4
START_S = 20.0
"""How long a keeper may take to start: a slow board with a slow card needs seconds."""
MUTE_S = 0.5
"""A heartbeat without an answer for longer than this: the keeper hangs, and is ended."""
EVENTS = 0xFFFF

A = TypeVar("A", bound=messages.Answer)


@dataclass(frozen=True)
class Lost:
    """The link ended or went silent. ``text`` says it to the printer.

    ``heard_us``: the keeper's clock when it was last heard, with its lamp lit if ``lit``. ``silent_us``: at the latest
    when it last heard of us; a microcontroller goes dark by itself within its silence after that.
    """

    text: str
    heard_us: int = 0
    lit: bool = False
    silent_us: int = 0


@dataclass(frozen=True)
class Missed:
    """Events were lost on the link: what became of the exposure at hand must be asked for."""


class Link(Protocol):
    """What the client needs of a socket; a serial line does it too."""

    def fileno(self) -> int:
        """What ``select`` can wait for."""

    def recv(self, most: int, /) -> bytes:
        """What has come; nothing when the link has ended. BlockingIOError when it has not, and nothing has come."""

    def sendall(self, data: bytes, /) -> None:
        """Send all of it; OSError when the link is gone."""

    def shutdown(self, how: int, /) -> None:
        """Nothing more is said; whoever waits to read wakes up."""

    def close(self) -> None:
        """Let go of the link."""


class Ending(Protocol):
    """How a keeper of this kind is ended, and what is done when it is lost."""

    def lost(self) -> str:
        """The link has ended by itself: make sure that it is dark; what to tell the printer. KeeperError if that fails."""

    def beat(self, lit: bool) -> None:
        """It has answered a heartbeat, and said whether its lamp is lit."""

    def close(self) -> None:
        """The link was closed by us: wait until the keeper has ended too, if it is a process."""


Heard = messages.Event | Missed | Lost
Listener = Callable[[Heard], None]


class Keeper:
    """A keeper on the other end of ``link``. Use as a context manager: leaving it closes the link, which is dark.

    ``listen`` is called on the client's own thread with every event, with Missed where some were lost, and last with
    Lost if the link ended by itself.
    """

    def __init__(self, link: Link, listen: Listener, ending: Ending) -> None:
        self._link, self.listen, self._ending = link, listen, ending
        # Whatever else this program does, the thread that notes when light ended must get its turn within 0.5 ms.
        sys.setswitchinterval(min(sys.getswitchinterval(), 0.0005))
        self._answers: dict[int, messages.Answer] = {}
        self._answered = threading.Condition()
        self._asking = threading.Lock()
        self._sending = threading.Lock()
        self._halt_wanted = False
        self._number = 0
        self._closing = False
        self._lost: Lost | None = None
        self._fault = ""
        self._events: int | None = None  # the number of the last event that came; None before the first
        self._last_event: tuple[messages.Event, int] | None = None
        self._unanswered: float | None = None  # when the oldest heartbeat without an answer was sent
        self._greeted = False
        self._beat = (0, 0, False)  # host's ns, keeper's µs, lit: of the last heartbeat it answered
        self._sent_ns = time.monotonic_ns()
        self._thread = threading.Thread(target=self._serve, name="keeper link", daemon=True)
        self._thread.start()
        try:
            self.hello = self.ask(messages.Hello(), messages.HelloReply, wait=START_S)
        except BaseException:
            self.close()
            raise

    # ── commands ─────────────────────────────────────────────────────────────

    def ask(self, command: messages.Command, kind: type[A], wait: float = ANSWER_S * TRIES) -> A:
        """Send ``command`` until it is answered; Refused when the keeper says no, KeeperError when it is silent."""
        with self._asking:
            self._number = self._number % 0xFFFF + 1
            number = self._number
            data = encode(messages.to_frame(command, number))
            end = time.monotonic() + wait
            answer: messages.Answer | None = None
            while answer is None:
                self._write(data)
                with self._answered:
                    pause = max(0.0, min(ANSWER_S, end - time.monotonic()))
                    self._answered.wait_for(lambda: number in self._answers or self._lost is not None, pause)
                    answer = self._answers.pop(number, None)
                if answer is None and self._lost is not None:
                    raise KeeperError(self._fault or self._lost.text)
                if answer is None and time.monotonic() >= end:
                    raise KeeperError("the keeper does not answer; the lamp goes off by itself within a second")
        if isinstance(answer, messages.Refusal):
            raise Refused(_no(answer, command, self._fault, self.hello.ceiling_us if number > 1 else 0))
        if not isinstance(answer, kind):
            raise KeeperError("the keeper answered something else than it was asked")
        return answer

    def expose(
        self,
        exposure: int,
        on_us: int,
        cues: tuple[tuple[int, int], ...] = (),
        *,
        now: bool,
        less_us: int = 0,
        recovery_us: int = 0,
    ) -> None:
        """Light for ``on_us`` of lamp-on time, ``now`` or at the next press; a warm lamp less (messages.Arm)."""
        self.ask(messages.Arm(exposure, on_us, now, cues, less_us, recovery_us), messages.Done)

    def dose(
        self,
        exposure: int,
        target: int,
        on_us: int,
        mains_half_cycle_us: int,
        cues: tuple[tuple[int, int], ...] = (),
        *,
        now: bool,
    ) -> None:
        """Light until the sensor has counted ``target``, ``on_us`` at most; by whole half-cycles of the mains."""
        self.ask(messages.Dose(exposure, target, on_us, mains_half_cycle_us, now, cues), messages.Done)

    def sensed(self) -> int:
        """The light sensor's reading now, in counts. As ``ask``: from any thread but the listener's, never in a signal
        handler."""
        return self.ask(messages.ReadSensor(), messages.SensorReading).value

    def halt(self) -> None:
        """Dark now, and an answer that says so."""
        self.ask(messages.Halt(), messages.Done)

    def halt_at_once(self) -> None:
        """Dark now, without waiting for an answer: safe in a signal handler, whoever is sending meanwhile.

        If another thread is in the middle of a frame, it sends the Halt as soon as that frame is out.
        """
        self._halt_wanted = True
        self._halt_if_wanted()

    def focus_light(self, seconds: float) -> None:
        """Focus light for ``seconds``; 0 ends it."""
        self.ask(messages.FocusLight(round(seconds * 1e6)), messages.Done)

    def safelight(self, on: bool) -> None:
        """Switch the safelight, if the keeper has one. As ``ask``."""
        self.ask(messages.Safelight(on), messages.Done)

    def record(self, exposure: int) -> messages.ExposureRecord:
        """What the keeper remembers of ``exposure``; its ``known`` is false when that is nothing. As ``ask``."""
        return self.ask(messages.AskRecord(exposure), messages.ExposureRecord)

    def now_us(self) -> int:
        """The keeper's clock now: on a microcontroller, the time since it was reset."""
        return self.ask(messages.Heartbeat(), messages.HeartbeatReply).now_us

    @property
    def heard_ns(self) -> int:
        """When the keeper last answered a heartbeat, by our monotonic clock; before the first, when it was last sent to."""
        return self._beat[0] or self._sent_ns

    @property
    def last_seen(self) -> tuple[bool, int]:
        """Whether the lamp was lit when the keeper last answered a heartbeat, and when that was (µs of its clock)."""
        _, now_us, lit = self._beat
        return lit, now_us

    # ── the link ─────────────────────────────────────────────────────────────

    def _send(self, data: bytes) -> None:
        with self._sending:
            self._link.sendall(data)
            self._sent_ns = time.monotonic_ns()
        self._halt_if_wanted()

    def _halt_if_wanted(self) -> None:
        while self._halt_wanted and self._sending.acquire(blocking=False):
            try:
                self._halt_wanted = False
                with suppress(OSError):
                    self._link.sendall(encode(messages.to_frame(messages.Halt(), 0)))
            finally:
                self._sending.release()

    def _write(self, data: bytes) -> None:
        try:
            self._send(data)
        except OSError:
            if self._lost is None and not self._closing and threading.current_thread() is not self._thread:
                # The reader will see the end of the link too, with whatever the keeper said before it.
                self._thread.join(0.5)
            raise KeeperError(self._fault or (self._lost.text if self._lost else "the link to the keeper is gone")) from None

    def _serve(self) -> None:
        """Read events and answers, beat five times a second, until the link ends."""
        # The moment the link ends is the moment the light ended: it is worth being woken for at once.
        with suppress(OSError):
            os.sched_setscheduler(threading.get_native_id(), os.SCHED_FIFO, os.sched_param(40))
        decoder = Decoder()
        beat = encode(messages.to_frame(messages.Heartbeat(), 0))
        due = looked = time.monotonic()
        while not self._closing:
            try:
                if select.select([self._link], [], [], max(0.0, due - time.monotonic()))[0]:
                    data = self._link.recv(4096)
                    if not data:
                        break
                    for frame in decoder.feed(data):
                        self._unanswered = None  # only whole frames are a sign of life
                        self._greeted = True
                        self._take(messages.from_frame(frame), frame.number)
                    continue
            except BlockingIOError:
                continue
            except (OSError, ValueError):
                break
            # Nothing more to read: only now is it known whether the keeper is silent, or we were held up ourselves.
            now = time.monotonic()
            if now < due:
                continue
            if now - looked > 2 * BEAT_S:
                self._unanswered = None
            looked = now
            if self._greeted and self._unanswered is not None and now - self._unanswered > MUTE_S:
                break
            with suppress(OSError):
                self._send(beat)
            if self._unanswered is None:
                self._unanswered = now
            due = now + BEAT_S
        if not self._closing:
            self._link_lost()

    def _take(self, message: messages.Message | None, number: int) -> None:
        if isinstance(message, messages.HeartbeatReply):
            self._beat = (time.monotonic_ns(), message.now_us, message.lamp)
            self._ending.beat(message.lamp)
            if self._events is not None and message.events != self._events:
                self._events = message.events
                self.listen(Missed())
            self._events = message.events
        if isinstance(message, messages.Answer):
            with self._answered:
                if number:
                    self._answers = {number: message}
                    self._answered.notify_all()
        elif isinstance(message, messages.Event) and (message, number) != self._last_event:
            self._last_event = (message, number)
            missed = self._events is not None and number != self._events % EVENTS + 1
            self._events = number
            if missed:
                self.listen(Missed())
            if isinstance(message, messages.Fault):
                self._fault = message.text
            self.listen(message)

    def _link_lost(self) -> None:
        with suppress(OSError), self._sending:  # it may hear us even where we do not hear it
            self._link.sendall(encode(messages.to_frame(messages.Halt(), 0)))
        said_ns = max(self._sent_ns, time.monotonic_ns())
        try:
            text = self._ending.lost()
        except (KeeperError, OSError) as error:  # the loss itself must be told, or a run would wait for ever
            text = f"the keeper is gone, and its lamp could not be looked after: {error}"
        host_ns, keeper_us, lit = self._beat
        silent_us = keeper_us + (said_ns - host_ns) // 1000 if host_ns else 0
        lost = Lost(text, keeper_us, lit, silent_us)
        with self._answered:
            self._lost = lost
            self._answered.notify_all()
        self.listen(lost)

    def close(self) -> None:
        """Close the link; a local keeper goes dark and ends."""
        self._closing = True
        with suppress(OSError):
            self._link.shutdown(socket.SHUT_RDWR)
        if threading.current_thread() is not self._thread:
            self._thread.join(2)
        self._link.close()
        self._ending.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()


def _no(refusal: messages.Refusal, command: messages.Command, fault: str, ceiling_us: int) -> str:
    match refusal.reason:
        case RefusalReason.OVER_CEILING:
            return f"the keeper refuses light of more than {ceiling_us / 1e6:g} s at once"
        case RefusalReason.BUSY:
            return "the lamp is in use (focus light or another exposure); end that first"
        case RefusalReason.ALREADY_GIVEN:
            return "the keeper has given this exposure already and will not give it twice"
        case RefusalReason.FAULT:
            return fault or "the keeper has a fault and gives no light until it is started again"
        case RefusalReason.TOO_HOT:
            return "the focus light has been on for ten minutes; let lamp and negative cool for as long as it was on"
        case RefusalReason.WRONG_PROTOCOL:
            return f"the keeper speaks another version of the link than {messages.PROTOCOL}; update one of the two"
        case _:
            return f"the keeper does not take the command {type(command).__name__.lower()}"
