"""What a test leaves behind: threads, child processes, open sockets and files, asyncio tasks."""

import asyncio
import gc
import os
import threading
import time
from dataclasses import dataclass
from pathlib import Path

PATIENCE_S = 2.0
_ALLOWED_THREADS = ("asyncio_", "ThreadPoolExecutor", "pytest_timeout", "asyncio-waitpid")
"""Pools that live as long as their loop or the whole run."""
_ALLOWED_FILES = (
    "/dev/",
    "pipe:",
    "anon_inode:[eventpoll]",
    "anon_inode:[eventfd]",
    "/proc/",
    ".hypothesis",
    ".pyc",
    "site-packages",
)


@dataclass(frozen=True)
class Around:
    """What there is at one moment."""

    threads: frozenset[str]
    children: frozenset[int]
    files: tuple[str, ...]

    def more_than(self, before: "Around") -> list[str]:
        """What is here and was not there before, in words."""
        found = [f"thread {name}" for name in sorted(self.threads - before.threads)]
        found += [f"process {number}: {_command(number)}" for number in sorted(self.children - before.children)]
        old = list(before.files)
        for name in self.files:
            if name in old:
                old.remove(name)
            else:
                found.append(f"open {name}")
        return found


def around() -> Around:
    threads = frozenset(
        f"{t.name}#{t.ident}" for t in threading.enumerate() if not any(t.name.startswith(a) for a in _ALLOWED_THREADS)
    )
    return Around(threads, frozenset(_children()), tuple(sorted(_files())))


def left_behind(before: Around) -> list[str]:
    """What is still there that was not, after a little patience for what is just ending."""
    end = time.monotonic() + PATIENCE_S
    while True:
        found = around().more_than(before)
        if not found or time.monotonic() > end:
            return found
        gc.collect()
        time.sleep(0.02)


def tasks_left() -> list[str]:
    """Asyncio tasks of the running loop that are not done, but for the one that asks."""
    here = asyncio.current_task()
    return [repr(task) for task in asyncio.all_tasks() if task is not here and not task.done()]


def _children() -> list[int]:
    found: list[int] = []
    for task in Path("/proc/self/task").glob("*/children"):
        try:
            found += [int(number) for number in task.read_text().split()]
        except OSError:
            continue
    return found


def _command(process: int) -> str:
    try:
        return Path(f"/proc/{process}/cmdline").read_bytes().replace(b"\0", b" ").decode()[:120]
    except OSError:
        return "gone"


def _files() -> list[str]:
    found = []
    for fd in os.listdir("/proc/self/fd"):
        try:
            name = os.readlink(f"/proc/self/fd/{fd}")
        except OSError:
            continue
        if not any(part in name for part in _ALLOWED_FILES):
            found.append("a socket" if name.startswith("socket:") else name)
    return found
