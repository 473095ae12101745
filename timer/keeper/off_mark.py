"""A mark that outlives its writer: the lamp was told to be off at this moment, so no earlier request may light it.

``lamp off`` leaves it before it looks for a keeper; a keeper reads it after it has claimed the lamp. So one that is just
starting either sees the mark, or is seen.
"""

import os
import time
from contextlib import suppress
from pathlib import Path


def leave(folder: Path, lamp_key: str) -> None:
    """Mark this moment."""
    path = folder / f"{lamp_key}.off"
    with suppress(OSError):
        part = path.with_suffix(f".{os.getpid()}")
        part.write_text(str(now_ns()))
        part.replace(path)


def is_later(folder: Path, lamp_key: str, asked_ns: int) -> bool:
    """Whether the lamp was told to be off after ``asked_ns``."""
    try:
        return int((folder / f"{lamp_key}.off").read_text()) > asked_ns
    except (OSError, ValueError):
        return False


def now_ns() -> int:
    """This moment, as marks and wishes are told (CLOCK_BOOTTIME, ns)."""
    return time.clock_gettime_ns(time.CLOCK_BOOTTIME)


WISH_NS = 10_000_000_000


def wish_ns() -> int:
    """When this program asked for the lamp (CLOCK_BOOTTIME, ns): at its start, or ten seconds ago if that is later."""
    now = now_ns()
    try:
        ticks = int(Path("/proc/self/stat").read_text().rpartition(")")[2].split()[19])
    except (OSError, ValueError, IndexError):
        return now
    return max((ticks + 1) * 1_000_000_000 // os.sysconf("SC_CLK_TCK"), now - WISH_NS)
