"""Files for an initramfs: cpio archives in the "newc" form, which the kernel unpacks one after another."""

import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import BinaryIO

ALIGNED = 512
"""Archives are padded to this, so that they may be put behind each other (kernel: early-userspace/buffer-format)."""


@dataclass(frozen=True)
class Entry:
    """A file, folder or symbolic link; ``mode`` has the type in it, as st_mode has. A link's ``data`` is its target."""

    mode: int
    data: bytes = b""
    uid: int = 0
    gid: int = 0


def file(data: bytes, mode: int = 0o644, uid: int = 0, gid: int = 0) -> Entry:
    return Entry(stat.S_IFREG | mode, data, uid, gid)


def folder(mode: int = 0o755, uid: int = 0, gid: int = 0) -> Entry:
    return Entry(stat.S_IFDIR | mode, uid=uid, gid=gid)


def link(target: str) -> Entry:
    return Entry(stat.S_IFLNK | 0o777, target.encode())


@dataclass
class Tree:
    """Entries by path, without a leading slash; of two with one path the later holds."""

    entries: dict[str, Entry] = field(default_factory=dict)

    def add(self, path: str, entry: Entry) -> None:
        self.entries[path.strip("/")] = entry

    def write(self, out: BinaryIO) -> None:
        """The archive of all entries, folders that nobody named among them."""
        number = 0
        size = 0
        for number, (path, entry) in enumerate(self._complete(), 1):
            size += out.write(_record(path, entry, number))
        size += out.write(_record("TRAILER!!!", Entry(0), number + 1))
        out.write(bytes(-size % ALIGNED))

    def _complete(self) -> Iterator[tuple[str, Entry]]:
        parents = {str(parent) for path in self.entries for parent in PurePosixPath(path).parents} - {"."}
        for path in sorted(parents | set(self.entries)):
            yield path, self.entries.get(path) or folder()


def _record(path: str, entry: Entry, number: int) -> bytes:
    name = path.encode() + b"\0"
    links = 2 if stat.S_ISDIR(entry.mode) else 1
    fields: Iterable[int] = (
        number, entry.mode, entry.uid, entry.gid, links, 0, len(entry.data), 0, 0, 0, 0, len(name), 0,
    )  # fmt: skip
    head = b"070701" + b"".join(b"%08X" % value for value in fields) + name
    return head + bytes(-len(head) % 4) + entry.data + bytes(-len(entry.data) % 4)
