"""What the keeper remembers of the light it gave, in a small file mapped into memory.

A store costs nanoseconds and outlives the process, even one that is killed; only a power cut can lose it, and the
boot's name in every entry tells when that happened. While the lamp burns, ``alive`` is stamped every 10 ms, so that
the light of a killed keeper is known to lie between that stamp and the next.
"""

import mmap
import os
import struct
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from timer.keeper.wire import messages

_MAGIC = b"lamphouse-keep-1"
_SLOT = struct.Struct("<QQQQQQB16sI")  # exposure, ordered µs, begun, on, alive, off ns, why + 1 when over, boot, speed
_SLOT_BYTES = 128
SLOTS = 64
FILE_BYTES = _SLOT_BYTES * (SLOTS + 1)
_OVER = 8 * 6


@dataclass(frozen=True)
class Remembered:
    """One exposure as the keeper's file has it; times in ns of the monotonic clock of ``boot``; 0 is "not yet"."""

    exposure: int
    ordered_us: int
    begun_ns: int
    on_ns: int
    alive_ns: int
    off_ns: int
    why: int | None
    boot: bytes
    speed: int  # thousandths: lamp microseconds a real one

    def lamp_us(self, ns: int) -> int:
        """A real stretch of time as lamp-on microseconds."""
        return ns * self.speed // 1_000_000


def memory_file(state_dir: str | Path) -> Path:
    """Where the local keeper's memory is."""
    return Path(state_dir) / "keeper.memory"


class Memory:
    """The keeper's own view: it alone writes."""

    def __init__(self, path: Path) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        fd = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
        try:
            if os.fstat(fd).st_size != FILE_BYTES:
                os.ftruncate(fd, 0)
            os.posix_fallocate(fd, 0, FILE_BYTES)  # a full disk is found now, not by a fault in the middle of light
            self._map = mmap.mmap(fd, FILE_BYTES)
        finally:
            os.close(fd)
        if self._map[: len(_MAGIC)] != _MAGIC:
            self._map[:] = _MAGIC.ljust(FILE_BYTES, b"\0")
        self.owner = os.getpid()
        self._boot = boot_name()
        kept = read_entries(bytes(self._map))
        self._known = {e.exposure: slot for slot, e in kept.items()}
        newest = max(kept, key=lambda slot: kept[slot].begun_ns if kept[slot].boot == self._boot else -1, default=-1)
        self._slot = newest
        self._at = 0

    def knows(self, exposure: int) -> bool:
        return exposure in self._known

    def begin(self, exposure: int, ordered_us: int, now_ns: int, speed: int) -> None:
        """An exposure is about to be lit."""
        self._slot = (self._slot + 1) % SLOTS
        self._at = _SLOT_BYTES * (self._slot + 1)
        self._known = {e: s for e, s in self._known.items() if s != self._slot}
        _SLOT.pack_into(self._map, self._at, exposure, ordered_us, now_ns, 0, 0, 0, 0, self._boot, speed)
        self._known[exposure] = self._slot

    def lit(self, on_ns: int) -> None:
        struct.pack_into("<QQ", self._map, self._at + 24, on_ns, on_ns)

    def alive(self, now_ns: int) -> None:
        struct.pack_into("<Q", self._map, self._at + 32, now_ns)

    def dark(self, off_ns: int, why: int) -> None:
        struct.pack_into("<Q", self._map, self._at + 40, off_ns)
        self._map[self._at + _OVER] = why + 1  # last: an entry is over only when all of it is there

    def tally(self, exposure: int, us: Callable[[int], int]) -> messages.TallyIs:
        slot = self._known.get(exposure)
        if slot is None:
            return messages.TallyIs(False, exposure, 0, 0, 0, 0)
        e = read_entries(bytes(self._map))[slot]
        return messages.TallyIs(True, exposure, e.ordered_us, us(e.on_ns), us(e.off_ns), e.why or 0)


def recall(path: Path) -> dict[int, Remembered]:
    """All that the keeper's file remembers, by exposure; empty when there is no file or it is not one."""
    try:
        data = path.read_bytes()
    except OSError:
        return {}
    if len(data) != FILE_BYTES or not data.startswith(_MAGIC):
        return {}
    return {e.exposure: e for e in read_entries(data).values()}


def read_entries(data: bytes) -> dict[int, Remembered]:
    """The entries in the file's bytes, by slot."""
    out = {}
    for slot in range(SLOTS):
        exposure, ordered, begun, on, alive, off, over, boot, speed = _SLOT.unpack_from(data, _SLOT_BYTES * (slot + 1))
        if exposure:
            out[slot] = Remembered(exposure, ordered, begun, on, alive, off, over - 1 if over else None, boot, speed)
    return out


def boot_name() -> bytes:
    """16 bytes that name this boot of the machine: monotonic times compare only within one."""
    try:
        return bytes.fromhex(Path("/proc/sys/kernel/random/boot_id").read_text().strip().replace("-", ""))
    except (OSError, ValueError):
        return bytes(16)
