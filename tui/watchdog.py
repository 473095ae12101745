"""systemd's watchdog: told that the screen lives, as sd_notify(3) says; nothing where there is no systemd."""

import os
import socket
from contextlib import suppress


def period_s() -> float:
    """How often to tell, from WATCHDOG_USEC: a third of it; 0 for never."""
    try:
        return int(os.environ.get("WATCHDOG_USEC", "0")) / 3e6
    except ValueError:
        return 0.0


def notify(text: str) -> None:
    """Send ``READY=1`` or ``WATCHDOG=1`` to whoever started this."""
    path = os.environ.get("NOTIFY_SOCKET", "")
    if not path:
        return
    address = "\0" + path[1:] if path.startswith("@") else path
    with suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as link:
        link.sendto(text.encode(), address)
