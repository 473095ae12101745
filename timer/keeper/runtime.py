"""Where the keeper's memory lives while the machine is on: a folder in memory, which no disk can hold up.

A store into a file on a disk can wait for that disk's journal for seconds, and the light with it.
"""

import os
import stat
from pathlib import Path

from timer.errors import KeeperError

_IN_MEMORY = frozenset({"tmpfs", "ramfs"})


def runtime_dir(
    *,
    run: Path = Path("/run/lamphouse"),
    shared: Path = Path("/dev/shm"),
    environ: dict[str, str] | None = None,
    mounts: Path = Path("/proc/self/mountinfo"),
) -> Path:
    """The folder, mode 0700 and ours; made if absent.

    LAMPHOUSE_RUNTIME names another, on whatever it may be. Else /run/lamphouse where it is ours (or we are root), else
    XDG_RUNTIME_DIR, else /dev/shm. KeeperError if none of these is in memory and belongs to us alone.
    """
    env = os.environ if environ is None else environ
    asked = env.get("LAMPHOUSE_RUNTIME")
    if asked:
        if not os.path.isabs(asked):  # a keeper runs in a folder of its own, where this would be another place
            raise KeeperError(f"LAMPHOUSE_RUNTIME={asked}: write the whole path of the folder, from / on")
        return _ours(Path(asked))
    candidates = []
    if os.geteuid() == 0 or _is_ours(run):
        candidates.append(run)
    if env.get("XDG_RUNTIME_DIR"):
        candidates.append(Path(env["XDG_RUNTIME_DIR"]) / "lamphouse")
    candidates.append(shared / f"lamphouse-{os.geteuid()}")
    for path in candidates:
        if path.parent.is_dir() and in_memory(path.parent, mounts):
            try:
                return _ours(path)
            except KeeperError:
                continue
    names = ", ".join(str(path.parent) for path in candidates)
    raise KeeperError(
        f"no folder in memory for the keeper ({names}): mount a tmpfs on /run or /dev/shm, or name a folder in "
        "LAMPHOUSE_RUNTIME; on a disk the lamp may have to wait for it"
    )


def in_memory(path: Path, mounts: Path = Path("/proc/self/mountinfo")) -> bool:
    """Whether ``path`` is on a file system that has no disk behind it, by its device number in mountinfo (proc(5))."""
    try:
        device = os.stat(path).st_dev
        lines = mounts.read_text().splitlines()
    except OSError:
        return False
    name = f"{os.major(device)}:{os.minor(device)}"
    for line in lines:
        before, _, after = line.partition(" - ")
        if before.split()[2] == name:
            return after.split()[0] in _IN_MEMORY
    return False


def _is_ours(path: Path) -> bool:
    try:
        found = path.lstat()
    except OSError:
        return False
    return stat.S_ISDIR(found.st_mode) and found.st_uid == os.geteuid()


def _ours(path: Path) -> Path:
    """``path`` as a folder of ours that nobody else can look into; never one that somebody else has put there."""
    try:
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not _is_ours(path):
            raise KeeperError(
                f"{path}: belongs to another user, or is no folder; remove it, or name one in LAMPHOUSE_RUNTIME"
            )
        path.chmod(0o700)
    except OSError as error:
        raise KeeperError(f"{path}: cannot be used for the keeper's memory: {error.strerror or error}") from None
    return path
