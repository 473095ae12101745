"""Files in and out. In: plain files up to ``MAX_BYTES``. Out: the whole file or none, never over another one.

Every file that the printer names is read and written here.
"""

import errno
import os
import secrets
import stat
from contextlib import suppress
from pathlib import Path

from timer.errors import LamphouseError, reason

MAX_BYTES = 256 * 1024
"""The longest text file that is read: a recipe of 64 areas with all its notes is shorter."""
_KINDS = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISSOCK, "a socket"),
)
_NO_LINKS = (errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS)

# ── in ───────────────────────────────────────────────────────────────────────


def read_text(path: Path, most: int = MAX_BYTES, *, instead: str = "utf-8-sig") -> str:
    """The UTF-8 text of the plain file at ``path``, ``most`` bytes long at most; LamphouseError in one sentence.

    ``instead``: an encoding to read it by when it is not UTF-8, for files of other programs.
    """
    data = read_bytes(path, most)
    try:
        try:
            text = data.decode("utf-8-sig")  # some editors begin a file with a mark of their own
        except UnicodeDecodeError:
            text = data.decode(instead)
    except UnicodeDecodeError:
        raise LamphouseError(f"{path}: not a text file in UTF-8") from None
    if "\0" in text:
        raise LamphouseError(f"{path}: not a text file in UTF-8: it has bytes that are no text")
    return text


def read_bytes(path: Path, most: int) -> bytes:
    """The bytes of the plain file at ``path``, ``most`` at most. Never waits: a pipe or a device is not opened."""
    try:
        must_be_plain(path)
        # Looked at once more when open: it may have been changed for another meanwhile.
        fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_NOCTTY | os.O_CLOEXEC)
        with os.fdopen(fd, "rb", buffering=0) as file:
            _plain_or_refused(path, os.fstat(fd))
            data = bytearray()
            while len(data) <= most and (more := file.read(most + 1 - len(data))):
                data += more
    except (OSError, ValueError) as error:
        raise LamphouseError(f"{path}: cannot be read: {reason(error)}") from None
    if len(data) > most:
        raise LamphouseError(f"{path}: too long: {_size(most)} at most")
    return bytes(data)


def must_be_plain(path: Path) -> os.stat_result:
    """Its state if ``path`` is a plain file or a link to one; LamphouseError or OSError otherwise."""
    state = os.stat(path)
    _plain_or_refused(path, state)
    return state


def is_there(path: Path) -> bool:
    """Whether anything has that name, a broken link too; LamphouseError for a name that no file can have."""
    try:
        path.lstat()
    except (FileNotFoundError, NotADirectoryError):
        return False
    except (OSError, ValueError) as error:
        raise LamphouseError(f"{path}: cannot be read: {reason(error)}") from None
    return True


def toml_files(*folders: Path) -> list[Path]:
    """What ends in .toml in ``folders``, by name; a folder that cannot be listed has none."""
    found: dict[Path, None] = {}
    for place in folders:
        with suppress(OSError):
            for path in sorted(place.absolute().glob("*.toml")):
                found[path] = None
    return list(found)


def _plain_or_refused(path: Path, state: os.stat_result) -> None:
    for is_kind, name in _KINDS:
        if is_kind(state.st_mode):
            raise LamphouseError(f"{path}: {name}, not a file")


def _size(count: int) -> str:
    return f"{count // 1024} KB" if count < 2**20 else f"{count // 2**20} MB"


# ── out ──────────────────────────────────────────────────────────────────────


def write_new(path: Path, data: bytes) -> None:
    """Write ``data`` as a new file at ``path``: all of it, or LamphouseError and no file.

    Nothing that has the name is written over, and no link is followed.
    """
    must_be_free(path)
    try:
        part = part_beside(path)
        try:
            part.write_bytes(data)
            put_in_place(part, path)
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)
    except (OSError, ValueError) as error:
        raise LamphouseError(f"{path}: cannot be written: {reason(error)}") from None


def must_be_free(path: Path) -> None:
    """LamphouseError when anything is at ``path``, be it a link to nothing."""
    if is_there(path):
        raise LamphouseError(f"{path}: exists already; choose another name, nothing is written over")


def free_name(place: Path, stem: str, ending: str) -> tuple[Path, int]:
    """A name in ``place`` that no file has, and its number: ``stem.toml``, ``stem-2.toml``. LamphouseError when a thousand
    are taken."""
    for n in range(1, 1000):
        path = place / f"{stem}{f'-{n}' if n > 1 else ''}{ending}"
        if not is_there(path):
            return path, n
    raise LamphouseError(f"{place}: has a thousand files {stem}{ending}; move some elsewhere")


def part_beside(path: Path) -> Path:
    """A new, empty file in the folder of ``path``, for what is not whole yet. OSError when there can be none."""
    part = path.absolute().parent / f".lamphouse-{secrets.token_hex(8)}.part"
    os.close(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o666))
    return part


def put_in_place(part: Path, path: Path) -> None:
    """Give ``part``, which is whole, the name ``path``; LamphouseError if something has come to have it meanwhile."""
    sync(part)
    try:
        try:
            os.link(part, path)
        except OSError as error:
            if error.errno not in _NO_LINKS:
                raise
            _take_then_replace(part, path)
    except FileExistsError:
        raise LamphouseError(f"{path}: exists already; choose another name, nothing is written over") from None
    _keep_names(path)


def sync(path: Path) -> None:
    """Sync what was written there to the disk. OSError when that fails."""
    with open(path, "rb") as file:
        os.fsync(file.fileno())


def _take_then_replace(part: Path, path: Path) -> None:
    """On a stick or card whose file system has no hard links: the name is taken first, then the file put there."""
    os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o666))
    try:
        os.replace(part, path)
    except OSError:
        path.unlink(missing_ok=True)
        raise


def edit(path: Path, data: bytes) -> None:
    """Put ``data`` in the place of what the printer's own file at ``path`` had: all of it, or LamphouseError, no change.

    A link stays a link: the file that it leads to is changed. The file keeps its mode, and its owner where it may.
    """
    _put_over(Path(os.path.realpath(path)), data, path)


def write_over(path: Path, data: bytes) -> None:
    """As ``write_new``, but over a file that has the name; of a link, the link itself goes, what it leads to stays."""
    _put_over(path, data, path)


def remove(path: Path) -> None:
    """Delete a file of ours. LamphouseError when that fails."""
    try:
        path.unlink()
        _keep_names(path)
    except OSError as error:
        raise LamphouseError(f"{path}: cannot be taken away: {reason(error)}") from None


def _put_over(path: Path, data: bytes, named: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        before = path.lstat() if is_there(path) else None
        if before:
            _plain_or_refused(named, before)
        part = part_beside(path)
        try:
            part.write_bytes(data)
            sync(part)
            if before and stat.S_ISREG(before.st_mode):
                with suppress(OSError):
                    os.chown(part, before.st_uid, before.st_gid)
                os.chmod(part, stat.S_IMODE(before.st_mode))
            os.replace(part, path)
            _keep_names(path)
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)
    except (OSError, ValueError) as error:
        raise LamphouseError(f"{named}: cannot be written: {reason(error)}") from None


def _keep_names(path: Path) -> None:
    """Sync the folder, so that a power cut does not lose the name. Some file systems cannot."""
    with suppress(OSError):
        fd = os.open(path.absolute().parent, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
        try:
            os.fsync(fd)
        finally:
            os.close(fd)
