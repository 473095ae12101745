"""One lamp, one owner: a name that the kernel gives to one process at a time, on the whole machine.

An abstract Unix socket (unix(7)): it is no file, so it cannot be deleted and has no permissions to get wrong; the kernel
drops it when its process dies, however; and who holds it is asked by connecting, which takes nothing away.
"""

import socket
import struct
from contextlib import suppress
from dataclasses import dataclass

_CREDENTIALS = struct.Struct("iII")


@dataclass(frozen=True)
class Holder:
    """The process and the user that hold a lamp."""

    process: int
    user: int


class Claim:
    """The lamp ``key`` is this process's while this is open; OSError (EADDRINUSE) when another has it."""

    def __init__(self, key: str) -> None:
        self.socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        try:
            self.socket.setblocking(False)
            self.socket.bind(_address(key))
            self.socket.listen(64)
        except OSError:
            self.socket.close()
            raise

    def answer(self) -> None:
        """Some have asked who holds it, and the kernel has told them: make room for others. Never waits."""
        with suppress(OSError):
            for _ in range(8):
                self.socket.accept()[0].close()

    def close(self) -> None:
        """It is anybody's again."""
        self.socket.close()


def holder_of(key: str) -> Holder | None:
    """Who holds the lamp ``key``; None for nobody."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as asking:
        asking.setblocking(False)
        try:
            asking.connect(_address(key))
        except OSError:
            return None
        told = asking.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, _CREDENTIALS.size)
    process, user, _ = _CREDENTIALS.unpack(told)
    return Holder(process, user)


def _address(key: str) -> bytes:
    return b"\0lamphouse/" + key.encode()
