"""The host's end of the link: commands that are answered or raise, events in a callback, a heartbeat meanwhile."""

import os
import select
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Protocol, Self, TypeVar

from timer.errors import KeeperError, Refused
from timer.keeper.local.process import Config
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Decoder, SerialLink, encode, likely_ports

BEAT_S = 0.2
ANSWER_S = 0.5
TRIES = 4
START_S = 15.0
MUTE_S = 1.5
CONTROLLER_VERSION = 1

A = TypeVar("A", bound=messages.Answer)


@dataclass(frozen=True)
class Lost:
    """The link ended or went silent: dark at ``at_us`` on the keeper's clock, or by ``latest_us`` if it outlives it."""

    at_us: int
    text: str = ""
    latest_us: int = 0


class Link(Protocol):
    """What the client needs of a socket; a serial line does it too."""

    def fileno(self) -> int: ...
    def recv(self, most: int, /) -> bytes: ...
    def sendall(self, data: bytes, /) -> None: ...
    def shutdown(self, how: int, /) -> None: ...
    def close(self) -> None: ...


Listener = Callable[[messages.Event | Lost], None]


class Keeper:
    """A keeper on the other end of ``link``. Use as a context manager: leaving it closes the link, which is dark.

    ``listen`` is called on the client's own thread with every event, and last with Lost if the link ended by itself.
    """

    def __init__(self, link: Link, listen: Listener, process: subprocess.Popen[bytes] | None = None) -> None:
        self._link, self.listen, self._process = link, listen, process
        # Whatever else this program does, the thread that notes when light ended must get its turn within 0.5 ms.
        sys.setswitchinterval(min(sys.getswitchinterval(), 0.0005))
        self._answers: dict[int, messages.Answer] = {}
        self._answered = threading.Condition()
        self._asking = threading.Lock()
        self._sending = threading.Lock()
        self._number = 0
        self._closing = False
        self._lost: Lost | None = None
        self._fault = ""
        self._heard = time.monotonic()
        self._speed = 1000
        self._clock = (0, 0)  # host's ns, keeper's µs, of the last beat it answered
        self._thread = threading.Thread(target=self._serve, name="keeper link", daemon=True)
        self._thread.start()
        try:
            self.hello = self.ask(messages.Hello(), messages.HelloIs, wait=START_S)
        except BaseException:
            self.close()
            raise
        self._speed = self.hello.speed

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

    def expose(self, exposure: int, on_us: int, cues: tuple[tuple[int, int], ...] = (), *, now: bool) -> None:
        """Light for ``on_us`` of lamp-on time, ``now`` or at the next press of the footswitch."""
        self.ask(messages.Arm(exposure, on_us, now, cues), messages.Done)

    def dose(
        self, exposure: int, target: int, on_us: int, half_us: int, cues: tuple[tuple[int, int], ...] = (), *, now: bool
    ) -> None:
        """Light until the sensor has counted ``target``, ``on_us`` at most; by whole half-cycles of ``half_us``."""
        self.ask(messages.Dose(exposure, target, on_us, half_us, now, cues), messages.Done)

    def sensed(self) -> int:
        return self.ask(messages.Sense(), messages.SenseIs).value

    def halt(self) -> None:
        """Dark now, and an answer that says so."""
        self.ask(messages.Halt(), messages.Done)

    def halt_at_once(self) -> None:
        """Dark now, without waiting for an answer or for whoever is sending: safe in a signal handler."""
        data = encode(messages.to_frame(messages.Halt(), 0))
        if self._sending.acquire(blocking=False):
            try:
                with suppress(OSError):
                    self._link.sendall(data)
            finally:
                self._sending.release()

    def view(self, seconds: float) -> None:
        """Focus light for ``seconds``; 0 ends it."""
        self.ask(messages.View(round(seconds * 1e6)), messages.Done)

    def safelight(self, on: bool) -> None:
        self.ask(messages.Safelight(on), messages.Done)

    def tally(self, exposure: int) -> messages.TallyIs:
        return self.ask(messages.Tally(exposure), messages.TallyIs)

    # ── the link ─────────────────────────────────────────────────────────────

    def _write(self, data: bytes) -> None:
        with self._sending:
            try:
                self._link.sendall(data)
            except OSError:
                if self._lost is None and not self._closing:
                    # The reader will see the end of the link too, with whatever the keeper said before it.
                    self._thread.join(0.5)
                raise KeeperError(self._fault or self._lost_text()) from None

    def _serve(self) -> None:
        """Read events and answers, beat five times a second, until the link ends."""
        # The moment the link ends is the moment the light ended: it is worth being woken for at once.
        with suppress(OSError):
            os.sched_setscheduler(threading.get_native_id(), os.SCHED_FIFO, os.sched_param(40))
        decoder = Decoder()
        beat = encode(messages.to_frame(messages.Beat(), 0))
        due = time.monotonic()
        while not self._closing:
            pause = due - time.monotonic()
            if pause <= 0:
                with suppress(OSError), self._sending:
                    self._link.sendall(beat)
                due = time.monotonic() + BEAT_S
                if time.monotonic() - self._heard > MUTE_S:
                    self._end_keeper()
                continue
            try:
                if not select.select([self._link], [], [], pause)[0]:
                    continue
                data = self._link.recv(4096)
            except (OSError, ValueError):
                data = b""
            at = time.monotonic_ns()
            if not data:
                break
            self._heard = time.monotonic()
            for frame in decoder.feed(data):
                self._take(messages.from_frame(frame), frame.number)
        if not self._closing:
            lost = self._lost_at(at)
            with self._answered:
                self._lost = lost
                self._answered.notify_all()
            self.listen(lost)

    def _take(self, message: messages.Message | None, number: int) -> None:
        if isinstance(message, messages.Alive):
            self._clock = (time.monotonic_ns(), message.now_us)
        if isinstance(message, messages.Answer):
            with self._answered:
                if number:
                    self._answers = {number: message}
                    self._answered.notify_all()
        elif isinstance(message, messages.Event):
            if isinstance(message, messages.Fault):
                self._fault = message.text
            self.listen(message)

    def _lost_at(self, ns: int) -> Lost:
        if self._process:
            return Lost(ns * self._speed // 1_000_000, self._lost_text())
        # A keeper of its own outlives the line, and goes dark by itself after a second of silence.
        host, keeper = self._clock
        at = keeper + (ns - host) // 1000 if host else 0
        return Lost(at, self._lost_text(), at + 1_100_000)

    def _lost_text(self) -> str:
        if self._process:
            return "the keeper is gone, and its lamp with it: dark"
        return "the controller's line is gone; it goes dark within a second and remembers the light"

    def _end_keeper(self) -> None:
        """A keeper that is mute for longer than it may be: its death releases the lamp's line."""
        if self._process:
            self._process.kill()
        else:
            with suppress(OSError):
                self._link.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        """Close the link; a local keeper goes dark and ends. Asked, then TERM, then KILL."""
        self._closing = True
        with suppress(OSError):
            self._link.shutdown(socket.SHUT_RDWR)
        if threading.current_thread() is not self._thread:
            self._thread.join(2)
        self._link.close()
        if self._process:
            for number in (0, signal.SIGTERM, signal.SIGKILL):
                self._process.send_signal(number)
                with suppress(subprocess.TimeoutExpired):
                    self._process.wait(2)
                    return

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()


def start_local(config: Config, listen: Listener) -> Keeper:
    """Start a local keeper (spawned, its own session so that a terminal's signals do not reach it) and greet it."""
    ours, theirs = socket.socketpair()
    state = Path(config.state_dir)
    try:
        state.mkdir(parents=True, exist_ok=True)
        with (state / "keeper.log").open("ab") as log, theirs:
            # -P: nothing in the folder it is started from may stand in for a module.
            command = [
                sys.executable,
                "-P",
                "-m",
                "timer.keeper.local.process",
                config.as_argument(),
                str(theirs.fileno()),
            ]
            process = subprocess.Popen(
                command,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                pass_fds=[theirs.fileno()],
                start_new_session=True,
            )
    except OSError as error:
        ours.close()
        raise KeeperError(f"the keeper cannot be started from {state}: {error.strerror or error}") from None
    return Keeper(ours, listen, process)


def open_keeper(config: Config, listen: Listener) -> Keeper:
    """The keeper that ``config`` names: a local one is started, a controller is looked for and greeted."""
    return connect(config.port or only_port(), listen) if config.lamp == "controller" else start_local(config, listen)


def only_port() -> str:
    """The one port that may be a controller; KeeperError when there is none, or more than one."""
    found = likely_ports()
    if len(found) == 1:
        return found[0][0]
    if not found:
        raise KeeperError('no controller is found; plug it in, or name its port in the settings: port = "/dev/ttyUSB0"')
    names = ", ".join(f"{device} ({what})" for device, what in found)
    raise KeeperError(f'more than one may be the controller: {names}; name it in the settings: port = "{found[0][0]}"')


def connect(port: str, listen: Listener) -> Keeper:
    """Greet the controller on serial ``port``; KeeperError in one sentence when that fails."""
    try:
        link = SerialLink(port)
    except (OSError, ValueError) as error:
        raise KeeperError(f"{port}: cannot be opened: {getattr(error, 'strerror', None) or error}") from None
    keeper = Keeper(link, listen)
    if keeper.hello.version != CONTROLLER_VERSION:
        keeper.close()
        raise KeeperError(
            f"{port}: the controller's firmware is version {keeper.hello.version} and {CONTROLLER_VERSION} is wanted; "
            "`make flash` in hardware/controller puts the right one on it"
        )
    return keeper


def running_keeper(state_dir: Path) -> int | None:
    """The process that holds the lamp, if any."""
    import fcntl

    try:
        with (state_dir / "keeper.lock").open() as lock:
            try:
                fcntl.flock(lock, fcntl.LOCK_SH | fcntl.LOCK_NB)
            except OSError:
                return int(lock.read().strip() or 0) or None
    except (OSError, ValueError):
        pass
    return None


def end_running_keeper(state_dir: Path) -> int | None:
    """Make the keeper that holds the lamp go dark and end: TERM, then KILL. Returns its process, or None."""
    process = running_keeper(state_dir)
    for number, wait in ((signal.SIGTERM, 1.0), (signal.SIGKILL, 2.0)):
        if process is None or running_keeper(state_dir) is None:
            break
        with suppress(ProcessLookupError):
            os.kill(process, number)
        end = time.monotonic() + wait
        while running_keeper(state_dir) is not None and time.monotonic() < end:
            time.sleep(0.01)
    return process


def _no(refusal: messages.Refusal, command: messages.Command, fault: str, ceiling_us: int) -> str:
    match refusal.reason:
        case messages.No.OVER_CEILING:
            return f"the keeper refuses light of more than {ceiling_us / 1e6:g} s at once"
        case messages.No.BUSY:
            return "the lamp is in use (focus light or another exposure); end that first"
        case messages.No.ALREADY_GIVEN:
            return "the keeper has given this exposure already and will not give it twice"
        case messages.No.FAULT:
            return fault or "the keeper has a fault and gives no light until it is started anew"
        case messages.No.WRONG_PROTOCOL:
            return f"the keeper speaks another version of the link than {messages.PROTOCOL}; update one of the two"
        case _:
            return f"the keeper does not take the command {type(command).__name__.lower()}"
