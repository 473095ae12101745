"""What shines on the machine besides its terminal: the panel's backlight, board LEDs, and a console that can be blanked."""

import fcntl
import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from tui.rooms import Room

_OFF = "4"  # FB_BLANK_POWERDOWN, of bl_power (Linux, Documentation/ABI/stable/sysfs-class-backlight)


def blank_console(blank: bool) -> None:
    """Blank or show a Linux virtual console; nothing elsewhere. ioctl TIOCLINUX, console_ioctl(2)."""
    tioclinux, unblank, blank_now = 0x541C, 4, 14
    try:
        fd = os.open("/dev/tty", os.O_RDWR | os.O_NOCTTY)
    except OSError:
        return
    try:
        fcntl.ioctl(fd, tioclinux, bytes([blank_now if blank else unblank]))
    except OSError:
        pass
    finally:
        os.close(fd)


class Shine:
    """Backlight and board LEDs under /sys/class, where they may be written; put back as they were found."""

    def __init__(self, root: Path = Path("/sys/class")) -> None:
        self._root = root
        self._found: dict[Path, str] = {}

    def lights(self) -> list[str]:
        """What else shines on this machine, for the lights check."""
        return sorted(p.parent.name for kind in ("backlight", "leds") for p in self._root.glob(f"{kind}/*/brightness"))

    @property
    def can_put_out_panel(self) -> bool:
        """Whether there is a backlight, and every one of them may be written."""
        panels = list(self._root.glob("backlight/*/brightness"))
        return bool(panels) and all(os.access(path, os.W_OK) for path in panels)

    def set(self, room: Room, share: float) -> None:
        """Put all of it in the light of ``room``; ``share`` of half the brightness for a red one."""
        if room is Room.WHITE:
            self.restore()
            return
        for path in self._root.glob("backlight/*/brightness"):
            most = _read(path.parent / "max_brightness") or "255"
            power = path.parent / "bl_power"
            self._write(path, str(int(int(most) * share / 2)) if room is Room.RED else "0")
            self._write(power, "0" if room is Room.RED else _OFF)
        for path in self._root.glob("leds/*/trigger"):
            self._write(path, "none")
        for path in self._root.glob("leds/*/brightness"):
            self._write(path, "0")

    def restore(self) -> None:
        """Put all that was changed back as it was found; what refuses stays as it is."""
        for path, value in reversed(self._found.items()):
            with suppress(OSError):
                path.write_text(value)
        self._found.clear()

    def _write(self, path: Path, value: str) -> None:
        before = _read(path)
        if before is None or not os.access(path, os.W_OK):
            return
        self._found.setdefault(path, _chosen(before))
        with suppress(OSError):
            path.write_text(value)


def _chosen(text: str) -> str:
    """A trigger file lists all and brackets the one in force; others hold the plain value."""
    marked: Sequence[str] = [word for word in text.split() if word.startswith("[")]
    return marked[0].strip("[]") if marked else text.strip()


def _read(path: Path) -> str | None:
    try:
        return path.read_text().strip()
    except OSError:
        return None
