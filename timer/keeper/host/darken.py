"""Dark from outside: whoever holds the lamp, whether it answers, hangs or is stopped. Needs no keeper of its own."""

import os
import select
import signal
import termios
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from timer.errors import KeeperError
from timer.keeper import off_mark
from timer.keeper.boards.gpio_factory import KERNEL_FACTORIES
from timer.keeper.boards.line import Line, drive_low, find_chip, load_gpiod, low_output, user_of
from timer.keeper.claim import holder_of
from timer.keeper.config import Config
from timer.keeper.host.serial_port import BAUD, only_port
from timer.keeper.local import memory
from timer.keeper.local.memory import Now, memory_file, now_at
from timer.keeper.runtime import runtime_dir
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Decoder, encode

ASKED_S = 0.1
KILLED_S = 2.0
LINE_S = 2.0
ASK_AGAIN_S = 0.05
BOARD_S = 0.4
HEARD_S = 0.5
"""How old a controller's own word on its lamp may be: two heartbeats and a half."""


@dataclass(frozen=True)
class Darkened:
    """What was done: the processes that were ended, what the lamp's line or the board says now, and who is in the way.

    ``seen``: "low" or "off" (read back), "high" or "lit" (it is not dark), "gone" (a lamp that ends with its process),
    "" (nobody could tell).
    """

    ended: tuple[int, ...] = ()
    seen: str = ""
    says: str = ""


def make_dark(config: Config) -> Darkened:
    """Dark now, whatever holds the lamp of ``config``. KeeperError when it cannot be made so, with what to do."""
    if config.lamp == "controller":
        return _controller(config)
    with suppress(KeeperError):
        off_mark.leave(runtime_dir(), config.lamp_key)
    ended = _end_holders(config)
    line = line_of(config)
    if line is None:
        if left := holder_of(config.lamp_key):
            raise _not_ours(left.process)
        after_keeper(config)
        return Darkened(tuple(ended), "gone", "it is simulated, and lit only while a program holds it")
    return _line_low(config, line, ended)


@dataclass(frozen=True)
class Seen:
    """Who holds a lamp (0: nobody), and whether it is lit; None where nobody can tell. ``says`` tells how it is known."""

    keeper: int
    guard: int
    lit: bool | None
    says: str


def look(config: Config) -> Seen:
    """What is so at the lamp of ``config``, without touching it: the keeper's own word, or the line itself."""
    now = None
    with suppress(KeeperError):
        now = now_at(memory_file(runtime_dir(), config.lamp_key))
    holder = holder_of(config.lamp_key)
    keeper = holder.process if holder else now.keeper if now else 0
    if keeper and now and now.keeper == keeper:  # and not another user's, whose memory is elsewhere
        return _told_by(now, config)
    if config.lamp == "controller":
        return Seen(keeper, 0, None, "its program cannot be asked") if keeper else Seen(0, 0, *_asked(config))
    line = line_of(config)
    if line:
        return Seen(keeper, 0, *read_line(line))
    return Seen(keeper, 0, None if keeper else False, "simulated")


def _told_by(now: Now, config: Config) -> Seen:
    """By the memory of the process that has the lamp. Of a controller it has what that said last: that must not be old."""
    if config.lamp == "controller" and time.monotonic_ns() - now.alive_ns > HEARD_S * 1e9:
        return Seen(now.keeper, 0, None, "the program that uses it has not heard it lately")
    return Seen(now.keeper, now.guard, now.shines, "its keeper says so")


def read_line(line: Line) -> tuple[bool | None, str]:
    """Whether a line reads high, left as it is; and how that is known."""
    gpiod = load_gpiod()
    try:
        as_is = {line.offset: gpiod.LineSettings(direction=gpiod.line.Direction.AS_IS)}
        with gpiod.request_lines(line.chip, consumer="lamphouse look", config=as_is) as request:
            high = request.get_value(line.offset) is gpiod.line.Value.ACTIVE
        return high, f"GPIO pin {line.offset} reads {'high' if high else 'low'}"
    except OSError as error:
        user = user_of(line.chip, line.offset)
        why = f"it is in use by {user!r}" if user else (error.strerror or str(error)).lower()
        return None, f"GPIO pin {line.offset} cannot be read: {why}"


def _asked(config: Config) -> tuple[bool | None, str]:
    """What a controller that nobody uses says of its lamp."""
    fd = open_line(config.port or only_port())
    try:
        told = _told(fd, encode(messages.to_frame(messages.Heartbeat(), 0)), lambda reply: True)
    except OSError:
        told = None
    finally:
        os.close(fd)
    return (None, "it did not answer") if told is None else (told.lamp, "the controller says so")


def after_keeper(config: Config) -> bool:
    """The keeper of ``config`` is gone: drive its line low where there is one, and note the moment of dark.

    Whether it is dark: nothing is noted of a line that cannot be had, or reads high all the same.
    """
    line = line_of(config)
    dark = line is None or drive_low(line.chip, line.offset, LINE_S)
    if dark:
        _prove(config)
    return dark


def line_of(config: Config) -> Line | None:
    """The lamp's line of ``config``, if it has one that any process may take when it is free."""
    if config.lamp != "gpio":
        return None
    factory = os.environ.get("GPIOZERO_PIN_FACTORY", "")
    if factory and factory not in KERNEL_FACTORIES:
        return None
    return Line(find_chip(config.chip), config.lamp_pin)


def _prove(config: Config) -> None:
    with suppress(OSError, ValueError, KeeperError):
        words = memory.opened(memory_file(runtime_dir(), config.lamp_key))
        memory.prove(words.words, memory.BY_NEXT)
        words.close()


# ── processes ────────────────────────────────────────────────────────────────


def _end_holders(config: Config) -> list[int]:
    """End every keeper of this lamp: asked, then killed, stopped or not. Returns those that were ended."""
    ended: list[int] = []
    end = time.monotonic() + KILLED_S
    while time.monotonic() < end:
        found = keepers(config)
        if not found:
            break
        for process in found:
            end_process(process)
        ended += [process for process in found if process not in ended]
    return ended


def keepers(config: Config) -> list[int]:
    """Processes that hold the lamp of ``config``: by the kernel's word, and by the keeper's own memory."""
    holder = holder_of(config.lamp_key)
    found = [holder.process] if (holder and holder.user in (os.geteuid(), 0)) or (holder and os.geteuid() == 0) else []
    with suppress(KeeperError):
        now = now_at(memory_file(runtime_dir(), config.lamp_key))
        if now and now.keeper and now.keeper not in found:
            found.append(now.keeper)
    return found


def _not_ours(process: int) -> KeeperError:
    return KeeperError(
        f"process {process} holds the lamp and belongs to another user, or cannot be ended: run `lamphouse lamp off` as "
        "that user or with sudo, or pull the lamp's plug"
    )


def end_process(process: int) -> None:
    """TERM, and KILL where that does not help at once; waits until it is gone."""
    try:
        watch = os.pidfd_open(process)
    except OSError:
        return
    try:
        for number, wait in ((signal.SIGTERM, ASKED_S), (signal.SIGKILL, KILLED_S)):
            with suppress(ProcessLookupError):
                os.kill(process, number)
            if select.select([watch], [], [], wait)[0]:
                return
    except PermissionError:
        raise _not_ours(process) from None
    finally:
        os.close(watch)


# ── a line of a GPIO chip ────────────────────────────────────────────────────


def _line_low(config: Config, line: Line, ended: list[int]) -> Darkened:
    """Take the line and drive it low; who else has it is ended: whatever it is, it has the printer's lamp."""
    gpiod = load_gpiod()
    low = low_output()
    end = time.monotonic() + LINE_S
    while True:
        try:
            with gpiod.request_lines(line.chip, consumer="lamphouse off", config={line.offset: low}) as request:
                high = request.get_value(line.offset) is gpiod.line.Value.ACTIVE
        except OSError as error:
            user = user_of(line.chip, line.offset)
            others = [p for p in (*keepers(config), *users_of_line(line)) if p != os.getpid()]
            for process in others:
                end_process(process)
            ended += [p for p in others if p not in ended]
            if time.monotonic() < end:
                if not others:
                    time.sleep(0.01)
                continue
            held = f"{user!r} holds it and cannot be ended" if user else (error.strerror or str(error)).lower()
            raise KeeperError(
                f"GPIO pin {line.offset} of {line.chip} cannot be driven low: {held}; pull the lamp's plug"
            ) from None
        if not high:
            _prove(config)
        says = f"GPIO pin {line.offset} reads {'HIGH: something else drives it; pull the lamp plug' if high else 'low'}"
        return Darkened(tuple(ended), "high" if high else "low", says)


def users_of_line(line: Line, proc: Path = Path("/proc")) -> list[int]:
    """Processes that have requested ``line``, as far as we may look (proc(5): fdinfo of a line request names its lines)."""
    found = []
    for folder in proc.glob("[0-9]*/fd"):
        with suppress(OSError):
            for fd in folder.iterdir():
                if os.readlink(fd) == "anon_inode:gpio-line":
                    told = (folder.parent / "fdinfo" / fd.name).read_text()
                    lines = [row.split(":")[1].strip() for row in told.splitlines() if row.startswith("gpio-line:")]
                    if str(line.offset) in lines:
                        found.append(int(folder.parent.name))
    return found


# ── a microcontroller ────────────────────────────────────────────────────────


def _controller(config: Config) -> Darkened:
    """Say Halt on its line, whoever else is using it: a frame stands between zeros, so it gets through."""
    port = config.port or only_port()
    fd = open_line(port)
    try:
        halt = encode(messages.to_frame(messages.Halt(), 0))
        beat = encode(messages.to_frame(messages.Heartbeat(), 0))
        if _told(fd, halt + halt + beat, lambda reply: not reply.lamp):
            return Darkened((), "off", f"the controller on {port} says that its lamp is off")
    except OSError as error:
        raise KeeperError(
            f"{port}: cannot be written to: {error.strerror or error}; the controller goes dark by itself in silence"
        ) from None
    finally:
        os.close(fd)
    holder = holder_of(config.lamp_key)
    reads = f"process {holder.process} reads its answers" if holder else "it did not answer"
    return Darkened((), "", f"the controller on {port} was told to go dark; {reads}. In silence it is dark within a second")


def _told(fd: int, ask: bytes, enough: Callable[[messages.HeartbeatReply], bool]) -> messages.HeartbeatReply | None:
    """Send ``ask`` and wait for an answer that is ``enough``; None if none comes in time (another may have read it)."""
    decoder = Decoder()
    end = time.monotonic() + BOARD_S
    again = 0.0
    while (now := time.monotonic()) < end:
        if now >= again:
            os.write(fd, ask)
            again = now + ASK_AGAIN_S
        if not select.select([fd], [], [], min(again, end) - now)[0]:
            continue
        try:
            data = os.read(fd, 4096)
        except BlockingIOError:  # another program reads this line too, and had it first
            continue
        for frame in decoder.feed(data):
            message = messages.from_frame(frame)
            if isinstance(message, messages.HeartbeatReply):
                if enough(message):
                    return message
                again = 0.0
    return None


def open_line(port: str) -> int:
    """``port`` for reading and writing without its lock; its settings are left alone where somebody uses it."""
    try:
        fd = os.open(port, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK | os.O_CLOEXEC)
        settings = termios.tcgetattr(fd)
        speed = getattr(termios, f"B{BAUD}")
        if settings[4] != speed:
            flags = termios.CS8 | termios.CREAD | termios.CLOCAL
            termios.tcsetattr(fd, termios.TCSANOW, [0, 0, flags, 0, speed, speed, settings[6]])
    except (OSError, termios.error) as error:
        said = getattr(error, "strerror", None) or str(error)
        raise KeeperError(f"{port}: cannot be opened: {said}") from None
    return fd
