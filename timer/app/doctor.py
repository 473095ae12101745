"""Findings about this machine, one a row, each with what to do about it."""

import json
import os
import platform
import pwd
import resource
import shutil
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from timer.app import machine
from timer.app.lamp import keeper_config
from timer.documents.folders import folder
from timer.documents.settings import Settings, calibrated
from timer.documents.settings_file import load_settings
from timer.errors import KeeperError, LamphouseError
from timer.keeper.boards.line import check_lamp_pin, load_gpiod
from timer.keeper.boards.outlives import outputs_outlive
from timer.keeper.config import Config
from timer.keeper.host.darken import line_of, look
from timer.keeper.host.open import open_keeper
from timer.keeper.host.serial_port import likely_ports
from timer.keeper.runtime import in_memory, runtime_dir


@dataclass(frozen=True)
class Finding:
    """``state``: good, note (works, could be better) or fault (do this first)."""

    what: str
    state: Literal["good", "note", "fault"]
    says: str


def examine(settings: Settings | None = None, *, lamp: str | None = None, sys_root: Path = Path("/sys")) -> list[Finding]:
    """Every finding, for the lamp of the settings (None: the printer's own) or ``lamp``. A keeper is started, dark; no light
    is given."""
    settings = settings or load_settings()
    config = keeper_config(settings, lamp=lamp)
    found = [_realtime(), _memory(), _runtime()]
    holder = _holder(config)
    if config.lamp == "gpio":
        found += [_pin_library(), _pins(settings)]
        if not holder:
            found.append(_outputs(config, sys_root))
    if config.lamp == "controller":
        found.append(_port(config.port))
    found += [holder] if holder else [_keeper(config)]
    if config.lamp != "simulated":
        found += _setup()
    found += [_shine(sys_root, "backlight", "backlight"), _shine(sys_root, "leds", "board LEDs")]
    found += [_fog(), _heard(settings)]
    says = "as calibrated" if calibrated(settings) else "not calibrated, taken as instant; see lamphouse calibrate --help"
    found.append(Finding("lamp response", "good" if calibrated(settings) else "note", says))
    return found


def _holder(config: Config) -> Finding | None:
    with suppress(LamphouseError):
        seen = look(config)
        if seen.keeper:
            return Finding("keeper", "note", f"process {seen.keeper} holds the lamp; end it to have this examined")
    return None


def _keeper(config: Config) -> Finding:
    try:
        with open_keeper(config, lambda event: None) as keeper:
            keeper.halt()
            beside = f", guarded by process {keeper.hello.guard}" if keeper.hello.guard else ""
        return Finding("keeper", "good", f"starts and answers, lamp {config.lamp}, dark{beside}")
    except LamphouseError as error:
        return Finding("keeper", "fault", str(error))


def _runtime() -> Finding:
    try:
        path = runtime_dir()
    except KeeperError as error:
        return Finding("keeper's memory", "fault", str(error))
    if in_memory(path):
        return Finding("keeper's memory", "good", f"{path}, in RAM")
    return Finding(
        "keeper's memory", "fault", f"{path} is on a disk, as LAMPHOUSE_RUNTIME says: the lamp may have to wait for it"
    )


def _outputs(config: Config, sys_root: Path) -> Finding:
    """What outputs do when their owner dies: tried now, and kept for the next time."""
    what = "outputs"
    try:
        line = line_of(config)
        outlive = outputs_outlive(line, sys_root) if line else None
    except KeeperError as error:
        return Finding(what, "fault", str(error))
    if line is None:
        return Finding(what, "note", "a pin factory of your own: the guard ends the keeper, and cannot drive its pin")
    kept = folder("state") / "outputs.json"
    with suppress(OSError):
        kept.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        kept.write_text(json.dumps({"chip": line.chip, "kernel": platform.release(), "outlive": outlive}))
    if outlive is False:
        return Finding(
            what, "good", "tried: they go off when their program is killed, and the guard switches them off as well"
        )
    if outlive:
        says = "tried: they stay on when their program is killed; the guard beside the keeper switches them off"
        return Finding(what, "note", f"{says}. dtparam=strict_gpiod in config.txt makes a Pi let go of them")
    return Finding(what, "note", "this kernel does not say: assumed to stay on when their program is killed")


def _setup() -> list[Finding]:
    """Each piece of `lamphouse setup`, whether it is in place; by what the kernel says where it can be asked."""
    user = pwd.getpwuid(os.geteuid()).pw_name
    found = []
    for piece in machine.pieces(user, "lamphouse"):
        if piece.name in ("unit", "settings"):  # they are the printer's own to change
            continue
        try:
            there = machine.state(piece) == "there"
        except LamphouseError as error:
            found.append(Finding(f"setup: {piece.name}", "note", str(error)))
            continue
        says = "in place" if there else f"not in place ({piece.why}): sudo lamphouse setup --write --only {piece.name}"
        found.append(Finding(f"setup: {piece.name}", "good" if there else "note", says))
    missing = machine.groups_missing(user) if os.geteuid() else []
    if missing:
        says = f"{user} is not in {', '.join(missing)}: sudo usermod -aG {','.join(missing)} {user}, then log in again"
        found.append(Finding("groups", "note", says))
    return found


def _realtime() -> Finding:
    """Tried in a child process, so that this one does not change."""
    child = os.fork()
    if child == 0:
        try:
            os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(50))
            os._exit(0)
        except OSError:
            os._exit(1)
    _, status = os.waitpid(child, 0)
    if status == 0:
        return Finding("real-time scheduling", "good", "permitted")
    return Finding(
        "real-time scheduling",
        "note",
        "not permitted: the lamp may switch late; sudo lamphouse setup --write --only limits, then log in again",
    )


def _memory() -> Finding:
    soft, _ = resource.getrlimit(resource.RLIMIT_MEMLOCK)
    if os.geteuid() == 0 or soft == resource.RLIM_INFINITY or soft >= 64 * 2**20:
        return Finding("locked memory", "good", "permitted")
    return Finding("locked memory", "note", "not enough: sudo lamphouse setup --write --only limits, then log in again")


def _pin_library() -> Finding:
    chosen = os.environ.get("GPIOZERO_PIN_FACTORY")
    if chosen:
        return Finding("pin library", "note", f"gpiozero's pin factory {chosen!r}, as GPIOZERO_PIN_FACTORY says")
    try:
        return Finding("pin library", "good", f"gpiod {load_gpiod().__version__}")
    except KeeperError as error:
        return Finding("pin library", "fault", str(error))


def _pins(settings: Settings) -> Finding:
    p = settings.pins
    used = [pin for pin in (p.lamp, p.safelight, p.footswitch, p.buzzer) if pin]
    if len(set(used)) < len(used):
        return Finding("pins", "fault", "two things are on one pin; give each its own in [pins] of the settings")
    try:
        check_lamp_pin(p.lamp, p.chip)
    except KeeperError as error:
        return Finding("pins", "fault", str(error))
    says = f"lamp {p.lamp}, footswitch {p.footswitch or 'none'}. Fit a resistor from lamp to ground all the same."
    return Finding("pins", "good", says)


def _port(port: str) -> Finding:
    if port:
        there = Path(port).exists()
        return Finding(
            "serial port", "good" if there else "fault", f"{port} " + ("is there" if there else "is not there: plug it in")
        )
    found = likely_ports()
    if len(found) == 1:
        return Finding("serial port", "good", f"{found[0][0]} ({found[0][1]})")
    if not found:
        return Finding("serial port", "fault", "none is found: plug the board in")
    names = ", ".join(device for device, _ in found)
    return Finding("serial port", "fault", f"several: {names}; name one in the settings")


def _shine(root: Path, kind: str, name: str) -> Finding:
    paths = list((root / "class" / kind).glob("*/brightness"))
    if not paths:
        return Finding(
            kind, "note", f"{name}: Lamphouse cannot switch it off here; for colour paper cover it or switch it off"
        )
    if all(os.access(path, os.W_OK) for path in paths):
        return Finding(kind, "good", f"{name}: can be put out ({len(paths)})")
    return Finding(kind, "note", f"{name}: may not be written; a udev rule for the group video lets them be put out")


def _fog() -> Finding:
    """No program can measure it, so it is said every time."""
    return Finding(
        "screen fog",
        "note",
        "a panel leaks light, black and red: coin test for each paper, screen dimmed, sheet at working distance (l on the "
        "screen, docs/guide.md); for colour paper cover it or switch it off",
    )


def _heard(settings: Settings) -> Finding:
    """What can be heard in the dark, where colour paper leaves nothing else."""
    ways = {
        "voice (espeak-ng)": settings.speech and shutil.which("espeak-ng") is not None,
        "tones (aplay)": shutil.which("aplay") is not None,
        "tone pin": bool(settings.pins.buzzer),
        "bell": settings.bell,
    }
    found = [way for way, there in ways.items() if there]
    if found and settings.sound != "off":
        return Finding("heard in the dark", "good", ", ".join(found))
    return Finding(
        "heard in the dark",
        "note",
        "nothing: apt-get install espeak-ng alsa-utils for voice and tones; or a buzzer pin, or bell = true in the settings "
        "if this terminal's bell can be heard and does not flash",
    )
