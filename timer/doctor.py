"""What this machine is fit for, and what to do where it is not: one finding a row."""

import os
import shutil
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Literal

from timer.errors import LamphouseError
from timer.keeper.boards.gpio import outputs_outlive_process
from timer.keeper.host.client import open_keeper, running_keeper
from timer.keeper.wire.frames import likely_ports
from timer.settings import Settings, calibrated, folder, keeper_config


@dataclass(frozen=True)
class Finding:
    """``state``: good, note (works, could be better) or fault (do this first)."""

    what: str
    state: Literal["good", "note", "fault"]
    says: str


def examine(settings: Settings, *, lamp: str | None = None, sys_root: Path = Path("/sys")) -> list[Finding]:
    """Every finding, for the lamp of the settings or ``lamp``. A keeper is started, dark; no light is given."""
    config = keeper_config(settings, lamp=lamp)
    found = [_realtime(), _memory()]
    if config.lamp == "gpio":
        found += [_strict(sys_root), _gpio(), _pins(settings)]
    if config.lamp == "controller":
        found.append(_port(config.port))
    holder = running_keeper(folder("state"))
    if holder:
        found.append(Finding("keeper", "note", f"process {holder} holds the lamp; end it to have this examined"))
    else:
        try:
            with open_keeper(config, lambda event: None) as keeper:
                keeper.halt()
            found.append(Finding("keeper", "good", f"starts and answers, lamp {config.lamp}, dark"))
        except LamphouseError as error:
            found.append(Finding("keeper", "fault", str(error)))
    found += [_shine(sys_root, "backlight", "the screen's backlight"), _shine(sys_root, "leds", "board LEDs"), _voice()]
    says = "as calibrated" if calibrated(settings) else "not calibrated, taken as instant; see lamphouse calibrate --help"
    found.append(Finding("lamp response", "good" if calibrated(settings) else "note", says))
    return found


def _realtime() -> Finding:
    """Tried in a child of its own: what this process is must not change."""
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
        "not permitted: edges may be late on a busy machine; put '@realtime - rtprio 60' into "
        "/etc/security/limits.d/lamphouse.conf and yourself into the group realtime",
    )


def _memory() -> Finding:
    import resource

    soft, _ = resource.getrlimit(resource.RLIMIT_MEMLOCK)
    if os.geteuid() == 0 or soft == resource.RLIM_INFINITY or soft >= 64 * 2**20:
        return Finding("locked memory", "good", "permitted")
    return Finding("locked memory", "note", "not enough: put '@realtime - memlock 65536' beside the rtprio line")


def _strict(root: Path) -> Finding:
    if outputs_outlive_process(root / "module"):
        return Finding(
            "strict_gpiod", "fault", "outputs outlive a killed program: dtparam=strict_gpiod in config.txt, then restart"
        )
    known = any((root / "module").glob("pinctrl_*/parameters/persist_gpio_outputs"))
    says = (
        "outputs fall back when their program ends" if known else "this kernel does not say; the pull to off must hold alone"
    )
    return Finding("strict_gpiod", "good" if known else "note", says)


def _gpio() -> Finding:
    chosen = os.environ.get("GPIOZERO_PIN_FACTORY")
    if chosen:
        return Finding("pin library", "note", f"GPIOZERO_PIN_FACTORY={chosen} decides")
    if find_spec("lgpio"):
        return Finding("pin library", "good", "lgpio is installed")
    return Finding("pin library", "fault", "lgpio is missing: pip install 'lamphouse[pi]'")


def _pins(settings: Settings) -> Finding:
    p = settings.pins
    used = [pin for pin in (p.lamp, p.safelight, p.footswitch, p.buzzer) if pin]
    if len(set(used)) < len(used):
        return Finding("pins", "fault", "two things are on one pin; give each its own in [pins] of the settings")
    pull = "" if p.lamp >= 9 else " GPIO 0 to 8 are pulled up at power-on, towards light: take another."
    says = f"lamp {p.lamp}, footswitch {p.footswitch or 'none'}.{pull} Fit a resistor from lamp to ground all the same."
    return Finding("pins", "fault" if pull else "good", says)


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
        return Finding(kind, "note", f"{name}: none can be reached; cover or switch off by hand")
    if all(os.access(path, os.W_OK) for path in paths):
        return Finding(kind, "good", f"{name}: can be put out ({len(paths)})")
    return Finding(kind, "note", f"{name}: may not be written; a udev rule for the group video lets them be put out")


def _voice() -> Finding:
    if shutil.which("espeak-ng"):
        return Finding("voice", "good", "espeak-ng is installed")
    return Finding("voice", "note", "no voice: apt-get install espeak-ng lets the next action be spoken in the dark")
