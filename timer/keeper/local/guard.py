"""The guard: a second, even smaller process that makes the lamp dark when the keeper cannot.

Started by the keeper as ``python -m timer.keeper.local.guard KEEPER MEMORY LINK [CHIP OFFSET]``: file descriptors of the
keeper's process (pidfd_open(2)), of its memory and of a socket to it, and the lamp's line if it is one that can be taken.
While the keeper says that it may be lit, the guard looks every 10 ms: is it alive by its stamp, is it past its end? If it
died, stopped, hangs or is late, the guard ends it, takes the line and drives it low, and notes when it was dark. It
touches no disk.
"""

import os
import select
import signal
import socket
import sys
import time

from timer.keeper.local import memory
from timer.keeper.local.memory import BY_GUARD, DUE, GUARD, GUARD_ALIVE, KEEPER, KEEPER_ALIVE, SHINES, Words
from timer.keeper.local.undisturbed import undisturbed

PERIOD_MS = 10
LATE_NS = 50_000_000
STALE_NS = 200_000_000
"""A stamp this old, of a process that the kernel says is stopped."""
HANGS_NS = 500_000_000
"""A stamp this old, of one that is not: a machine that is short of processors holds one up for half as long."""
HELD_UP_NS = 100_000_000
PATIENCE_S = 10.0
WATCH, REST = b"w", b"r"
PRIORITY = 60
"""Above the keeper: one that spins for ever must not keep the guard from ending it."""


def main() -> None:
    """Watch until the keeper is gone."""
    keeper, memory_fd, link_fd = (int(fd) for fd in sys.argv[1:4])
    line = (sys.argv[4], int(sys.argv[5])) if len(sys.argv) > 5 else None
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)  # it ends with the keeper, never before it
    words = Words(memory_fd).words
    if line:
        from timer.keeper.boards.line import load_gpiod  # start-up time: a guard is small until it has to act

        load_gpiod()  # not when it is needed
    memory.enter(words, GUARD)
    link = socket.socket(fileno=link_fd)
    undisturbed(PRIORITY)
    link.send(b"!")
    _watch(keeper, link, words)
    if unclean(words):
        make_dark(words, line)


def make_dark(words: "memoryview[int]", line: tuple[str, int] | None) -> None:
    """Dark, of a keeper that is gone; noted, but not of a line that cannot be had, or reads high all the same."""
    from timer.keeper.boards.line import drive_low  # as in main

    if not line or drive_low(*line, PATIENCE_S):
        memory.prove(words, BY_GUARD)


def unclean(words: "memoryview[int]") -> bool:
    """Whether the keeper left without having made it dark."""
    return bool(words[SHINES])


def judged(words: "memoryview[int]", now_ns: int) -> str:
    """What is wrong with a keeper whose lamp is lit, as far as its stamps tell at ``now_ns``; empty when nothing is."""
    due, alive = words[DUE], words[KEEPER_ALIVE]
    if not words[SHINES]:
        return ""
    if due and now_ns > due + LATE_NS:
        return "late"
    if now_ns > alive + HANGS_NS:
        return "hangs"
    return "stopped" if now_ns > alive + STALE_NS and memory.stopped(words[KEEPER]) else ""


def _watch(keeper: int, link: socket.socket, words: "memoryview[int]") -> None:
    """Return when the keeper's process is gone: by itself, or ended here."""
    poll = select.poll()
    poll.register(keeper, select.POLLIN)
    poll.register(link, select.POLLIN)
    watching = False
    looked_ns = time.monotonic_ns()
    while True:
        ready = {fd for fd, _ in poll.poll(PERIOD_MS if watching else None)}
        now = time.monotonic_ns()
        if keeper in ready:
            return
        if link.fileno() in ready:
            told = link.recv(64)
            if not told:
                poll.unregister(link)  # it is ending; if it does not, its stamps will tell
            elif (told[-1:] == WATCH) != watching:
                watching = not watching
                looked_ns = now
        if watching:
            words[GUARD_ALIVE] = now
            # Whoever held up the guard may have held up the keeper too: it gets one more look before it is judged.
            fair = now - looked_ns < HELD_UP_NS
            looked_ns = now
            if fair and judged(words, now):
                _end(keeper)
                return


def _end(keeper: int) -> None:
    """Kill it, stopped or not, and wait until it is gone."""
    signal.pidfd_send_signal(keeper, signal.SIGKILL)
    select.select([keeper], [], [], PATIENCE_S)


def start(words_fd: int, link: socket.socket, line: tuple[str, int] | None) -> int:
    """Start a guard of this very process; its process number. ``link`` is its end of the socket."""
    keeper = os.pidfd_open(os.getpid())
    fds = (keeper, words_fd, link.fileno())
    for fd in fds:
        os.set_inheritable(fd, True)
    arguments = [*map(str, fds), *(map(str, line) if line else ())]
    command = [sys.executable, "-P", "-m", "timer.keeper.local.guard", *arguments]
    try:
        return os.posix_spawn(sys.executable, command, os.environ)
    finally:
        os.close(keeper)
        for fd in fds[1:]:
            os.set_inheritable(fd, False)


if __name__ == "__main__":
    main()
