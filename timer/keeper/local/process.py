"""The local keeper: a process of its own that does nothing but switch the lamp when it should.

Started by ``timer.keeper.host.local`` as ``python -m timer.keeper.local CONFIG LINK``, its link an inherited socket.
First in, first out scheduling and locked memory where the system permits; deadlines are absolute monotonic times,
slept towards and then spun for. SIGTERM, SIGINT, SIGHUP and a closed link: lamp off first, then report, then end.
Nothing on its way touches a disk. Beside it runs a guard, and without the guard there is no light.
"""

import contextlib
import json
import select
import signal
import socket
import sys
import threading
import time
from collections import deque
from collections.abc import Iterator

from timer.errors import KeeperError
from timer.keeper import off_mark
from timer.keeper.boards.open import open_board
from timer.keeper.boards.protocol import Board
from timer.keeper.claim import Claim, holder_of
from timer.keeper.config import Config
from timer.keeper.local import guard
from timer.keeper.local.memory import Memory, memory_file
from timer.keeper.local.rules import Core
from timer.keeper.local.undisturbed import undisturbed
from timer.keeper.runtime import runtime_dir
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Decoder, Frame, encode
from timer.keeper.wire.messages import EndReason

SPIN_NS = 700_000
"""Woken this much before an off-edge, the rest is spun: more than a real-time thread's worst usual wake-up."""
CHUNK = 512
"""Bytes read at once: a flood must not stand between the loop and the off-edge for longer than their decoding takes."""
PRIORITY = 50
GUARD_STARTS_S = 10.0

THREAD_STACK = 256 * 1024
"""Bytes of a driver's own thread. All memory is locked, so 8 MB of stack would be there in whole, and a process that is
killed lets go of its lamp only after it has given its memory back."""
Ends = dict[socket.socket | select.epoll, EndReason]
"""What ends the keeper by becoming readable, and why that is."""


def main() -> None:
    """Serve the link on the file descriptor given second, by the configuration given first.

    A third is the terminal that the printer sits at: when it is closed the lamp goes dark and the keeper ends, however
    busy the program on the other end of the link may be.
    """
    config = Config(**json.loads(sys.argv[1]))
    link = socket.socket(fileno=int(sys.argv[2]))
    link.setblocking(False)
    threading.stack_size(THREAD_STACK)
    terminal = int(sys.argv[3]) if len(sys.argv) > 3 else None
    try:
        with contextlib.ExitStack() as held:
            claim = _claim(config)
            held.callback(claim.close)
            folder = runtime_dir()
            if config.asked_ns and off_mark.is_later(folder, config.lamp_key, config.asked_ns):
                raise KeeperError("the lamp was told to be off while this was starting; start again")
            memory = Memory(memory_file(folder, config.lamp_key))
            held.callback(memory.close)
            board = open_board(config)
            held.callback(board.close)
            board.lamp(False)
            memory.take()
            ours, process = _guard(memory, board)
            held.callback(ours.close)
            ends: Ends = {held.enter_context(_signals()): EndReason.SIGNAL}
            if terminal is not None:
                ends[held.enter_context(_hang_up(terminal))] = EndReason.LINK_CLOSED
            undisturbed(PRIORITY)
            _serve(config, link, ends, board, memory, claim, ours, process)
    except (KeeperError, OSError) as error:
        text = str(error) if isinstance(error, KeeperError) else f"the keeper could not start: {error}"
        with contextlib.suppress(OSError):
            link.send(encode(messages.to_frame(messages.Fault(text), 1)))
        sys.exit(1)


def _claim(config: Config) -> Claim:
    """The lamp for this process alone; KeeperError naming the holder when there is one."""
    try:
        return Claim(config.lamp_key)
    except OSError:
        holder = holder_of(config.lamp_key)
        who = f" (process {holder.process})" if holder else ""
        raise KeeperError(f"the lamp is held by another Lamphouse{who}; end that one, or `lamphouse lamp off`") from None


def _guard(memory: Memory, board: Board) -> tuple[socket.socket, int]:
    """Start the guard and wait until it watches; the socket to it, and its process number."""
    ours, theirs = socket.socketpair()
    with theirs:
        line = (board.line.chip, board.line.offset) if board.line else None
        process = guard.start(memory.fd, theirs, line)
    if not select.select([ours], [], [], GUARD_STARTS_S)[0] or not ours.recv(1):
        ours.close()
        raise KeeperError("the guard beside the keeper does not start, so there is no light; `lamphouse doctor` may say why")
    ours.setblocking(False)
    return ours, process


def _serve(
    config: Config,
    link: socket.socket,
    ends: Ends,
    board: Board,
    memory: Memory,
    claim: Claim,
    guarded: socket.socket,
    process: int,
) -> None:
    def send(message: messages.Message, number: int) -> None:
        # A host that does not read must never hold up the lamp: what does not fit is dropped, the record has it.
        with contextlib.suppress(OSError):
            link.send(encode(messages.to_frame(message, number)))

    def wake_guard(watch: bool) -> None:
        with contextlib.suppress(OSError):
            guarded.send(guard.WATCH if watch else guard.REST)

    core = Core(
        board,
        memory,
        time.monotonic_ns,
        send,
        ceiling_us=config.ceiling_us,
        hold_us=config.hold_us,
        speed_permille=config.speed_permille,
        pedal_down=board.pedal_down,
        guard=process,
        wake_guard=wake_guard,
        slept=lambda: off_mark.now_ns() - time.monotonic_ns(),
    )
    try:
        why = _loop(core, link, ends, board, claim, guarded)
    except Exception as error:
        board.lamp(False)
        core.fault(f"the keeper stopped itself, lamp off: {error!r}")
        raise
    core.dark(why)


def _loop(core: Core, link: socket.socket, ends: Ends, board: Board, claim: Claim, guarded: socket.socket) -> EndReason:
    """Serve until one of ``ends`` is readable, or the link ends; says which. The lamp may still be lit on return."""
    decoder = Decoder()
    frames: deque[Frame] = deque()
    clock = time.monotonic_ns
    listening = [link, *ends, claim.socket, guarded]
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
            # What the foot did until now is known before time judges it: a glitch may be over, and not yet read.
            for down, at in board.pedal_edges():
                core.pedal(down, at)
            core.due()
            continue
        if frames:  # one at a time: the edge is looked at between two of them
            core.frame(frames.popleft())
            continue
        times = [due] if due is not None else []
        times += [edge - SPIN_NS] if edge is not None else []
        timeout = max(0, min(times) - now) / 1e9 if times else None
        pins = board.inputs()
        ready, _, _ = select.select([*listening, *pins], [], [], timeout)
        for end, why in ends.items():
            if end in ready:
                return why
        if link in ready:
            try:
                data = link.recv(CHUNK)
            except BlockingIOError:
                continue
            except OSError:
                data = b""
            if not data:
                return EndReason.LINK_CLOSED
            frames.extend(decoder.feed(data))
        if guarded in ready and _has_ended(guarded):
            listening.remove(guarded)
            core.fault("the guard beside the keeper is gone, so the lamp is dark; start again")
        if claim.socket in ready:
            claim.answer()
        if any(pin in ready for pin in pins):
            for down, at in board.pedal_edges():
                core.pedal(down, at)


def _has_ended(link: socket.socket) -> bool:
    """Whether the other end is gone; an error, and no end, if there were words for it that it had not read."""
    try:
        return not link.recv(64)
    except OSError:
        return True


@contextlib.contextmanager
def _hang_up(terminal: int) -> Iterator[select.epoll]:
    """Something that becomes readable when ``terminal`` is hung up, and not when keys come."""
    with select.epoll() as watch:
        with contextlib.suppress(OSError):  # no terminal after all
            watch.register(terminal, 0)
        yield watch


@contextlib.contextmanager
def _signals() -> Iterator[socket.socket]:
    """A socket that becomes readable at SIGTERM, SIGINT or SIGHUP, whatever the loop is waiting for.

    Until here a signal ends the process at once: nothing is lit yet.
    """
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
