"""What the keeper remembers of the light it gave, in a small file mapped into memory, never on a disk.

A store costs nanoseconds and outlives the process, even one that is killed; only a power cut can lose it, and the
boot's name in every entry tells when that happened. While the lamp burns, ``alive`` is stamped every 5 ms. Of a keeper
that died, its light lies between that stamp and ``proven``: the moment when the guard, or whoever came next, had the
line low or the process gone.

The file is an array of 64-bit words: each is stored and read whole, so no reader ever sees half of one.
"""

import contextlib
import mmap
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

_MAGIC = int.from_bytes(b"lampkeep", "little") + 3
SLOTS = 64
_SLOT_WORDS = 16
_HEAD_WORDS = 32
WORDS = _HEAD_WORDS + SLOTS * _SLOT_WORDS
FILE_BYTES = WORDS * 8

# The head: what the file is, and what is so now.
MAGIC, CREATED, BOOT_LOW, BOOT_HIGH, BEGUN_COUNT, CURRENT = range(6)
KEEPER, KEEPER_BORN, GUARD, GUARD_BORN, APP, APP_BORN = range(8, 14)
SHINES, DUE, KEEPER_ALIVE, GUARD_ALIVE = range(16, 20)
LIT_FROM, LAST_OFF, LAST_LASTED, LAST_CUT = range(24, 28)
# A slot: one exposure.
_EXPOSURE, _ORDERED, _BEGUN, _ON, _ALIVE, _OFF, _WHY, _PROVEN, _PROVER, _SPEED, _SLOT_BOOT_LOW, _SLOT_BOOT_HIGH = range(12)

NOBODY, BY_KEEPER, BY_GUARD, BY_NEXT = range(4)
"""Who saw the dark."""


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
    proven_ns: int
    boot: bytes
    speed_permille: int

    def lamp_us(self, ns: int) -> int:
        """A real stretch of time as lamp-on microseconds."""
        return ns * self.speed_permille // 1_000_000


@dataclass(frozen=True)
class Recollection:
    """All that a memory file holds: of which boot, since when, and by exposure; ``whole`` if none was overwritten."""

    boot: bytes
    created_ns: int
    whole: bool
    entries: dict[int, Remembered]

    def never_lit(self, exposure: int, noted_ns: int) -> bool:
        """Whether ``exposure``, noted at ``noted_ns`` of this boot, certainly never began: it would be remembered."""
        since = self.created_ns if self.whole else min(e.begun_ns for e in self.entries.values())
        return self.boot == boot_name() and since < noted_ns and exposure not in self.entries


def memory_file(folder: Path, lamp_key: str) -> Path:
    """Where the memory of a lamp is, in the runtime folder."""
    return folder / f"{lamp_key}.memory"


@dataclass(frozen=True)
class LastLight:
    """When the lamp last went off (0: not known), how long it had been on, and what that light had been cut by."""

    off_ns: int
    lasted_ns: int
    cut_us: int


class Words:
    """A mapped memory file as words; ``close`` lets go of it."""

    def __init__(self, file: int | Path, *, writable: bool = True) -> None:
        own = isinstance(file, Path)
        flags = (os.O_RDWR if writable else os.O_RDONLY) | os.O_CLOEXEC | os.O_NOFOLLOW
        fd = os.open(file, flags) if isinstance(file, Path) else file
        try:
            access = mmap.ACCESS_WRITE if writable else mmap.ACCESS_READ
            self._map = mmap.mmap(fd, FILE_BYTES, access=access)
        finally:
            if own:
                os.close(fd)
        self._bytes = memoryview(self._map)
        self.words = self._bytes.cast("Q")

    def close(self) -> None:
        """``words`` is of no use any more. ValueError when it was closed before."""
        self.words.release()
        self._bytes.release()
        self._map.close()


class Memory:
    """The keeper's own view: it alone writes exposures."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.fd = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW, 0o600)
        try:
            os.fchmod(self.fd, 0o600)
            if os.fstat(self.fd).st_size != FILE_BYTES:
                os.ftruncate(self.fd, 0)
            os.posix_fallocate(self.fd, 0, FILE_BYTES)  # full memory is found now, not by a fault in the middle of light
            self._mapped = Words(self.fd)
        except BaseException:
            os.close(self.fd)
            raise
        self.words = w = self._mapped.words
        low, high = _boot_words()
        if (w[MAGIC], w[BOOT_LOW], w[BOOT_HIGH]) != (_MAGIC, low, high):
            for n in range(WORDS):
                w[n] = 0
            w[BOOT_LOW], w[BOOT_HIGH], w[CREATED], w[CURRENT] = low, high, time.monotonic_ns(), SLOTS - 1
            w[MAGIC] = _MAGIC
        kept = _entries(w)
        self._known = {entry.exposure: slot for slot, entry in kept.items()}
        self._at = self._base(w[CURRENT] % SLOTS)

    def take(self) -> None:
        """This process keeps the lamp, and has just made it dark: whatever light of another had no end, has it by now."""
        prove(self.words, BY_NEXT)
        enter(self.words, KEEPER)
        self.words[GUARD] = self.words[GUARD_BORN] = self.words[GUARD_ALIVE] = 0

    @staticmethod
    def _base(slot: int) -> int:
        return _HEAD_WORDS + slot * _SLOT_WORDS

    def knows(self, exposure: int) -> bool:
        """Whether ``exposure`` was given, and is still remembered."""
        return exposure in self._known

    def begin(self, exposure: int, ordered_us: int, now_ns: int, speed_permille: int) -> None:
        """An exposure is about to be lit."""
        w = self.words
        slot = (w[CURRENT] + 1) % SLOTS
        self._known = {e: s for e, s in self._known.items() if s != slot}
        at = self._at = self._base(slot)
        w[at + _EXPOSURE] = 0
        w[at + _ORDERED], w[at + _BEGUN] = ordered_us, now_ns
        w[at + _ON] = w[at + _ALIVE] = w[at + _OFF] = w[at + _WHY] = w[at + _PROVEN] = w[at + _PROVER] = 0
        w[at + _SPEED] = speed_permille
        w[at + _SLOT_BOOT_LOW], w[at + _SLOT_BOOT_HIGH] = w[BOOT_LOW], w[BOOT_HIGH]
        w[at + _EXPOSURE] = exposure
        w[CURRENT], w[BEGUN_COUNT] = slot, w[BEGUN_COUNT] + 1
        self._known[exposure] = slot

    def shine(self, due_ns: int, now_ns: int) -> None:
        """The lamp is about to be on, until ``due_ns``: what the guard goes by. Before the light, so that it never lags."""
        w = self.words
        w[DUE], w[KEEPER_ALIVE] = due_ns, now_ns
        if not w[SHINES]:
            w[LIT_FROM] = now_ns
        w[SHINES] = 1

    def lit(self, on_ns: int) -> None:
        """The exposure that was begun is lit, since ``on_ns``."""
        self.words[self._at + _ON] = self.words[self._at + _ALIVE] = on_ns

    def alive(self, now_ns: int, *, exposing: bool) -> None:
        """The keeper runs at ``now_ns``; ``exposing``: and the exposure that was begun is lit still."""
        w = self.words
        w[KEEPER_ALIVE] = now_ns
        if exposing:
            w[self._at + _ALIVE] = now_ns

    def dim(self, off_ns: int, cut_us: int) -> None:
        """The lamp is off, after a light that had been cut by ``cut_us``."""
        _dimmed(self.words, off_ns, cut_us)

    def dark(self, off_ns: int, why: int, cut_us: int) -> None:
        """The exposure is over. ``off_ns``: when, by a clock that has counted all of it."""
        w, at = self.words, self._at
        w[at + _OFF] = w[at + _PROVEN] = off_ns
        w[at + _PROVER] = BY_KEEPER
        w[at + _WHY] = why + 1  # last: an entry is over only when all of it is there
        self.dim(off_ns, cut_us)

    @property
    def owner(self) -> int:
        """The process that keeps the lamp."""
        return self.words[KEEPER]

    @property
    def last_light(self) -> "LastLight":
        """What the lamp was last on for, of this boot."""
        w = self.words
        return LastLight(w[LAST_OFF], w[LAST_LASTED], w[LAST_CUT])

    @property
    def guard_alive_ns(self) -> int:
        """When the guard last showed that it runs, by the monotonic clock; 0: never."""
        return self.words[GUARD_ALIVE]

    def record(self, exposure: int) -> Remembered | None:
        """All that is remembered of ``exposure``; None when that is nothing."""
        slot = self._known.get(exposure)
        return None if slot is None else _entry(self.words, slot)

    def close(self) -> None:
        """Let go of the file, which stays."""
        self._mapped.close()
        os.close(self.fd)


def prove(words: "memoryview[int]", prover: int) -> None:
    """It is dark now, and the keeper that lit it is gone: note the moment on every light that has no end."""
    now = time.monotonic_ns()
    for slot in range(SLOTS):
        at = _HEAD_WORDS + slot * _SLOT_WORDS
        if words[at + _EXPOSURE] and not words[at + _WHY] and not words[at + _PROVER]:
            words[at + _PROVEN] = now
            words[at + _PROVER] = prover
    if words[SHINES]:
        _dimmed(words, now, 0)


def _dimmed(words: "memoryview[int]", off_ns: int, cut_us: int) -> None:
    words[SHINES] = 0
    words[DUE] = 0
    words[LAST_LASTED] = off_ns - words[LIT_FROM]
    words[LAST_OFF], words[LAST_CUT] = off_ns, cut_us


def recollect(path: Path) -> Recollection | None:
    """All that the file at ``path`` remembers; None when there is none or it is not one."""
    with contextlib.suppress(OSError, ValueError), _reading(path) as words:
        entries = {e.exposure: e for e in _entries(words).values()}
        boot = _boot_bytes(words[BOOT_LOW], words[BOOT_HIGH])
        return Recollection(boot, words[CREATED], words[BEGUN_COUNT] <= SLOTS, entries)
    return None


@dataclass(frozen=True)
class Now:
    """What is so at a lamp: who keeps it, who guards it, whose app it is (0: nobody that lives), and whether it shines.

    ``guarded_ns``: when the guard last gave a sign of life, which it does every 10 ms while the lamp may be lit.
    ``alive_ns``: when the keeper last did, in light; of a controller, when it last answered the program that uses it.
    """

    keeper: int
    guard: int
    app: int
    shines: bool
    due_ns: int
    guarded_ns: int
    alive_ns: int = 0


def now_at(path: Path) -> Now | None:
    """What the file at ``path`` says of this moment; None when there is none."""
    with contextlib.suppress(OSError, ValueError), _reading(path) as w:
        if (w[BOOT_LOW], w[BOOT_HIGH]) != _boot_words():
            return Now(0, 0, 0, False, 0, 0)
        keeper, guard, app = (w[n] if w[n] and born(w[n]) == w[n + 1] else 0 for n in (KEEPER, GUARD, APP))
        return Now(keeper, guard, app, bool(w[SHINES]), w[DUE], w[GUARD_ALIVE], w[KEEPER_ALIVE])
    return None


@contextlib.contextmanager
def _reading(path: Path) -> Iterator["memoryview[int]"]:
    mapped = Words(path, writable=False)
    try:
        if mapped.words[MAGIC] != _MAGIC:
            raise ValueError("not a keeper's memory")
        yield mapped.words
    finally:
        mapped.close()


def opened(path: Path) -> Words:
    """The memory at ``path``, to be written to by whoever has made the lamp dark. OSError, ValueError if it is none."""
    mapped = Words(path)
    if mapped.words[MAGIC] != _MAGIC:
        mapped.close()
        raise ValueError("not a keeper's memory")
    return mapped


def _entries(words: "memoryview[int]") -> dict[int, Remembered]:
    found = {slot: _entry(words, slot) for slot in range(SLOTS)}
    return {slot: entry for slot, entry in found.items() if entry}


def _entry(words: "memoryview[int]", slot: int) -> Remembered | None:
    row = words[_HEAD_WORDS + slot * _SLOT_WORDS : _HEAD_WORDS + (slot + 1) * _SLOT_WORDS]
    if not row[_EXPOSURE]:
        return None
    return Remembered(
        row[_EXPOSURE],
        row[_ORDERED],
        row[_BEGUN],
        row[_ON],
        row[_ALIVE],
        row[_OFF],
        row[_WHY] - 1 if row[_WHY] else None,
        row[_PROVEN],
        _boot_bytes(row[_SLOT_BOOT_LOW], row[_SLOT_BOOT_HIGH]),
        row[_SPEED],
    )


def boot_name() -> bytes:
    """16 bytes that name this boot of the machine: monotonic times compare only within one."""
    try:
        return bytes.fromhex(Path("/proc/sys/kernel/random/boot_id").read_text().strip().replace("-", ""))
    except (OSError, ValueError):
        return bytes(16)


def _boot_words() -> tuple[int, int]:
    name = boot_name()
    return int.from_bytes(name[:8], "little"), int.from_bytes(name[8:], "little")


def _boot_bytes(low: int, high: int) -> bytes:
    return low.to_bytes(8, "little") + high.to_bytes(8, "little")


def born(process: int) -> int:
    """When ``process`` was started, in ticks since boot (proc(5)): with its number that names it for good. 0: it is gone."""
    try:
        stat = Path(f"/proc/{process}/stat").read_text()
    except (OSError, UnicodeDecodeError):
        return 0
    fields = stat.rpartition(")")[2].split()
    return 0 if fields[0] in "ZX" else int(fields[19])


def stopped(process: int) -> bool:
    """Whether ``process`` was stopped by a signal or a tracer, so that nothing is to be expected of it."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] in "Tt"
    except (OSError, UnicodeDecodeError):
        return False


def enter(words: "memoryview[int]", who: int) -> None:
    """Note that this process is ``who`` (KEEPER, GUARD or APP) at the lamp."""
    words[who], words[who + 1] = os.getpid(), born(os.getpid())
