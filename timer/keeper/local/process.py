"""The local keeper: a process of its own that does nothing but switch the lamp when it should.

Started by ``timer.keeper.host.client`` as ``python -m timer.keeper.local.process CONFIG``, its link an inherited socket.
First in, first out scheduling and locked memory where the system permits; deadlines are absolute monotonic times,
slept towards and then spun for. SIGTERM, SIGINT, SIGHUP and a closed link: lamp off first, then report, then end.
"""

import contextlib
import fcntl
import gc
import json
import os
import select
import signal
import socket
import sys
import time
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from timer.errors import KeeperError
from timer.keeper.local.memory import Memory, memory_file
from timer.keeper.local.rules import Core
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Decoder, encode

SPIN_NS = 700_000
"""Woken this much before an off-edge, the rest is spun: more than a real-time thread's worst usual wake-up."""


@dataclass(frozen=True)
class Config:
    """All a local keeper needs to know; pins are BCM numbers, 0 for none."""

    state_dir: str
    lamp: str = "simulated"
    ceiling_us: int = 120_000_000
    hold_us: int = 800_000
    speed: int = 1000
    lamp_pin: int = 17
    safelight_pin: int = 0
    footswitch_pin: int = 27
    buzzer_pin: int = 0
    buzzer_tonal: bool = False
    wire: str = ""
    port: str = ""
    counts_per_s: float = 0.0
    half_us: int = 10_000
    bulb: str = ""

    def as_argument(self) -> str:
        return json.dumps(asdict(self))


def main() -> None:
    """Serve the link on the file descriptor given second, by the configuration given first."""
    config = Config(**json.loads(sys.argv[1]))
    link = socket.socket(fileno=int(sys.argv[2]))
    link.setblocking(False)
    try:
        with _signals() as wake, _only_one(Path(config.state_dir)):
            _undisturbed()
            board = _board(config)
            try:
                _serve(config, link, wake, board)
            finally:
                board.lamp(False)
                board.close()
    except (KeeperError, OSError) as error:
        text = str(error) if isinstance(error, KeeperError) else f"the keeper could not start: {error}"
        with contextlib.suppress(OSError):
            link.send(encode(messages.to_frame(messages.Fault(text), 1)))
        sys.exit(1)


def _serve(config: Config, link: socket.socket, wake: socket.socket, board: Any) -> None:
    def send(message: messages.Message, number: int) -> None:
        # A host that does not read must never hold up the lamp: what does not fit is dropped, the tally has it.
        with contextlib.suppress(OSError):
            link.send(encode(messages.to_frame(message, number)))

    core = Core(
        board,
        Memory(memory_file(config.state_dir)),
        time.monotonic_ns,
        send,
        ceiling_us=config.ceiling_us,
        hold_us=config.hold_us,
        speed=config.speed,
        pedal_down=board.pedal_down,
    )
    board.lamp(False)
    try:
        why = _loop(core, link, wake, board)
    except Exception as error:
        board.lamp(False)
        core.fault(f"the keeper stopped itself, lamp off: {error!r}")
        raise
    core.dark(why)


def _loop(core: Core, link: socket.socket, wake: socket.socket, board: Any) -> messages.Why:
    """Serve until a signal or the end of the link; says which. The lamp may still be lit on return."""
    decoder = Decoder()
    clock = time.monotonic_ns
    while True:
        edge = core.edge_due_ns()
        now = clock()
        if edge is not None and edge - now <= SPIN_NS:
            core.get_ready()
            while clock() < edge:
                pass
            core.finish()
            continue
        due = core.next_due_ns()
        if due is not None and due <= now:
            core.due()
            continue
        times = [due] if due is not None else []
        times += [edge - SPIN_NS] if edge is not None else []
        timeout = max(0, min(times) - now) / 1e9 if times else None
        ready, _, _ = select.select([link, wake, *board.inputs()], [], [], timeout)
        if wake in ready:
            return messages.Why.SIGNAL
        if link in ready:
            try:
                data = link.recv(4096)
            except BlockingIOError:
                continue
            except OSError:
                data = b""
            if not data:
                return messages.Why.LINK_CLOSED
            for frame in decoder.feed(data):
                core.frame(frame)
        if len(ready) > (link in ready):
            for down, at in board.pedal_edges():
                core.pedal(down, at)


def _board(config: Config) -> Any:
    if config.lamp == "gpio":
        from timer.keeper.boards.gpio import GpioBoard

        pins = (config.lamp_pin, config.safelight_pin, config.footswitch_pin, config.buzzer_pin)
        return GpioBoard(*pins, tonal=config.buzzer_tonal)
    from timer.keeper.boards.simulated import SimulatedBoard

    return SimulatedBoard(config.wire, config.bulb, config.speed)


@contextlib.contextmanager
def _signals() -> Any:
    """A socket that becomes readable at SIGTERM, SIGINT or SIGHUP, whatever the loop is waiting for."""
    ours, theirs = socket.socketpair()
    ours.setblocking(False)
    theirs.setblocking(False)
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
        signal.signal(number, lambda *_: None)
    signal.set_wakeup_fd(theirs.fileno(), warn_on_full_buffer=False)
    yield ours
    signal.set_wakeup_fd(-1)
    ours.close()
    theirs.close()


@contextlib.contextmanager
def _only_one(state_dir: Path) -> Any:
    """Hold the lamp for this process alone; KeeperError naming the holder when there is one."""
    state_dir.mkdir(parents=True, exist_ok=True)
    fd = os.open(state_dir / "keeper.lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    try:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        holder = os.read(fd, 32).decode(errors="replace").strip() or "unknown"
        raise KeeperError(
            f"the lamp is held by another Lamphouse (process {holder}); end that one, or `lamphouse lamp off`"
        ) from None
    os.ftruncate(fd, 0)
    os.write(fd, str(os.getpid()).encode())
    yield
    os.ftruncate(fd, 0)
    os.close(fd)


def _undisturbed() -> None:
    """Real-time scheduling, memory that stays in, no garbage collection: each where permitted."""
    with contextlib.suppress(OSError):
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(50))
    import ctypes

    libc = ctypes.CDLL(None, use_errno=True)
    mcl_current, mcl_future, pr_set_timerslack = 1, 2, 29
    libc.mlockall(mcl_current | mcl_future)
    libc.prctl(pr_set_timerslack, 1, 0, 0, 0)
    gc.collect()
    gc.freeze()
    gc.disable()


if __name__ == "__main__":
    main()
