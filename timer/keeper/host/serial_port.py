"""A serial line in the place of a socket, and the ports that may have a keeper on them.

pyserial is imported within what uses it, for the start-up time: only a lamp on a serial line needs it.
"""

import os
import select
from contextlib import suppress

from timer.errors import KeeperError

BAUD = 115200
BOARDS = {0x2341: "USB serial board", 0x1A86: "USB serial board", 0x0403: "USB serial board", 0x10C4: "USB serial board"}
"""USB makers of the usual boards and their serial chips."""


class SerialLink:
    """A serial port with the manners of a socket, as far as the client needs them. OSError for all that goes wrong."""

    def __init__(self, port: str) -> None:
        import serial

        self._port = serial.Serial(port, BAUD, timeout=0, write_timeout=1.0, exclusive=True)

    def fileno(self) -> int:
        """The port's file descriptor."""
        return int(self._port.fileno())

    def recv(self, most: int) -> bytes:
        """What has come; BlockingIOError when there is nothing after all: `lamp off` may have read it first."""
        # Not the port's own read: it takes an empty line for one that was pulled out.
        data = os.read(self.fileno(), most)
        if not data and not hung_up(self.fileno()):
            raise BlockingIOError("nothing has come")
        return data

    def sendall(self, data: bytes) -> None:
        """Write ``data``, for a second at the most."""
        self._port.write(data)

    def shutdown(self, _: int) -> None:
        """Nothing is said on this line any more: the keeper goes dark by its own silence. Wakes whoever reads."""
        with suppress(OSError):
            self._port.cancel_read()

    def close(self) -> None:
        """Let go of the port. May be called twice."""
        with suppress(OSError):
            self._port.close()


def hung_up(fd: int) -> bool:
    """Whether nothing will ever come on this line: it was pulled out."""
    poll = select.poll()
    poll.register(fd, 0)  # an end and a fault are told without being asked for
    return bool(poll.poll(0))


def likely_ports() -> list[tuple[str, str]]:
    """Serial ports that may have a keeper on them: (device, what it is)."""
    from serial.tools import list_ports

    return [(p.device, p.description or BOARDS[p.vid]) for p in list_ports.comports() if p.vid in BOARDS]


def only_port() -> str:
    """The one port that may be a controller; KeeperError when there is none, or more than one."""
    found = likely_ports()
    if len(found) == 1:
        return found[0][0]
    if not found:
        raise KeeperError('no controller is found; plug it in, or name its port in the settings: port = "/dev/ttyUSB0"')
    names = ", ".join(f"{device} ({what})" for device, what in found)
    raise KeeperError(f'more than one may be the controller: {names}; name it in the settings: port = "{found[0][0]}"')
