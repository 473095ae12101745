"""The files of a machine that is a darkroom's: what each should say, whether it does, writing them, taking them back.

Every file that is ours alone carries ``MARK`` and is removed whole; in a file that is the system's own, our lines stand
between ``BEGIN`` and ``END`` and only those are taken out again. Anything else at such a place is left alone and said.
"""

import grp
import os
import pwd
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Literal

from timer.errors import LamphouseError

MARK = "# Written by `lamphouse setup`; `lamphouse setup --remove` takes it back."
BEGIN, END = "# lamphouse: begin", "# lamphouse: end"
State = Literal["absent", "there", "other"]


@dataclass(frozen=True)
class Piece:
    """One file: what it is for, where, what it says. ``block``: only some lines of a file that is the system's own.

    ``owner``: a file that is that user's to change; one that is there already is the user's own, and is left as it is.
    """

    name: str
    why: str
    path: Path
    text: str
    block: bool = False
    owner: str = ""


def pieces(user: str, command: str, root: Path = Path("/")) -> list[Piece]:
    """All of them, for the screen run by ``user`` through ``command`` (the path of the lamphouse program)."""
    etc = root / "etc"
    unit = (files("timer") / "app" / "lamphouse.service").read_text(encoding="utf-8")
    unit = unit.replace("/home/pi/lamphouse/.venv/bin/lamphouse", command).replace("User=pi\n", f"User={user}\n")
    found = [
        Piece("unit", "the screen on the console, from power-on", etc / "systemd/system/lamphouse.service", unit),
        Piece(
            "limits",
            "real-time priority and locked memory for you at a shell",
            etc / "security/limits.d/lamphouse.conf",
            f"{user} - rtprio 60\n{user} - memlock 131072\n",
        ),
        Piece(
            "memory",
            "a folder in RAM for the keeper's memory, the same for the unit and your shell",
            etc / "tmpfiles.d/lamphouse.conf",
            f"d /run/lamphouse 0700 {user} {user} -\n",
        ),
        Piece(
            "lights",
            "backlight and board LEDs may be put out by the group video",
            etc / "udev/rules.d/60-lamphouse.rules",
            'SUBSYSTEM=="backlight|leds", ACTION=="add|change", RUN+="/bin/chgrp -R video /sys%p", '
            'RUN+="/bin/chmod -R g=u /sys%p"\n',
        ),
        Piece(
            "panic",
            "a kernel that panics starts again after a second: no software can end the light before that",
            etc / "sysctl.d/60-lamphouse.conf",
            "kernel.panic = 1\nkernel.panic_on_oops = 1\n",
        ),
        Piece(
            "watchdog",
            "a machine that hangs as a whole is reset by its own watchdog",
            etc / "systemd/system.conf.d/lamphouse.conf",
            "[Manager]\nRuntimeWatchdogSec=10\n",
        ),
    ]
    home = root / Path(pwd.getpwnam(user).pw_dir).relative_to("/")
    found.append(
        Piece(
            "settings",
            "your settings, to begin with; yours to change",
            home / ".config/lamphouse/settings.toml",
            'lamp = "gpio"\n',
            owner=user,
        )
    )
    config = next((p for p in (root / "boot/firmware/config.txt", root / "boot/config.txt") if p.exists()), None)
    if config:
        why = "pins fall back when their program dies (pinctrl_bcm2835 and pinctrl_rp1: persist_gpio_outputs=n)"
        found.append(Piece("pins", why, config, "[all]\ndtparam=strict_gpiod\n", block=True))
    return found


def wanted(piece: Piece) -> str:
    """The whole of a file of ours, or our lines in the system's."""
    if piece.block:
        return f"{BEGIN}\n{MARK}\n{piece.text}{END}\n"
    return f"{MARK}\n{piece.text}"


def state(piece: Piece) -> State:
    """Whether the piece is in its place, is not, or something else stands there."""
    found = _read(piece.path)
    if found is None:
        return "absent"
    if piece.block:
        return "there" if wanted(piece) in found else "other" if BEGIN in found else "absent"
    return "there" if found == wanted(piece) else "other"


def write(piece: Piece) -> bool:
    """Put it into place; False if it was there. LamphouseError when another's file is there, or it cannot be written."""
    now = state(piece)
    if now == "there" or (now == "other" and piece.owner):
        return False
    found = _read(piece.path) or ""
    if piece.block:
        text = _without_block(found)
        text = text + ("" if text.endswith("\n") or not text else "\n") + wanted(piece)
    elif now == "other" and MARK not in found:
        raise LamphouseError(f"{piece.path}: is there already and not ours; move it away, then run this again")
    else:
        text = wanted(piece)
    _put(piece.path, text, piece.owner)
    return True


def remove(piece: Piece) -> bool:
    """Take it back; False if there is nothing of ours, or a user has changed it. LamphouseError when it cannot be done."""
    found = _read(piece.path)
    if found is None or MARK not in found or (piece.owner and found != wanted(piece)):
        return False
    if piece.block:
        _put(piece.path, _without_block(found))
        return True
    try:
        piece.path.unlink()
    except OSError as error:
        raise LamphouseError(f"{piece.path}: cannot be removed: {error.strerror or error}") from None
    return True


def groups_missing(user: str) -> list[str]:
    """Groups that ``user`` should be in for pins, serial ports, lights and sound, and is not; those that exist here."""
    missing = []
    for name in ("gpio", "dialout", "video", "audio"):
        try:
            if user not in grp.getgrnam(name).gr_mem:
                missing.append(name)
        except KeyError:
            continue
    return missing


def _without_block(text: str) -> str:
    before, begin, rest = text.partition(f"{BEGIN}\n")
    if not begin:
        return text
    _, end, after = rest.partition(f"{END}\n")
    return before + after if end else before


def _read(path: Path) -> str | None:
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise LamphouseError(f"{path}: cannot be read: {getattr(error, 'strerror', None) or error}") from None


def _put(path: Path, text: str, owner: str = "") -> None:
    part = path.with_name(path.name + ".lamphouse-new")
    try:
        fresh = [folder for folder in (path.parent, *path.parent.parents) if not folder.exists()]
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("x", encoding="utf-8") as out:
            out.write(text)
            out.flush()
            os.fsync(out.fileno())
        if owner:
            who = pwd.getpwnam(owner)
            for mine in (*fresh, part):
                os.chown(mine, who.pw_uid, who.pw_gid)
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        hint = "; run it with sudo" if isinstance(error, PermissionError) else ""
        raise LamphouseError(f"{path}: cannot be written: {error.strerror or error}{hint}") from None
