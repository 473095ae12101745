"""What becomes of an output of this chip when the process that held it dies: tried, not assumed.

A child takes the lamp's line *low*, so there is no light, and is killed; then the hardware is asked which way the line
points. The character device answers that from a flag that a release does not clear; the direction file of sysfs asks
the hardware. Where there is no sysfs it cannot be told, and then outputs are taken to stay.
"""

import os
import signal
from contextlib import suppress
from pathlib import Path

from timer.keeper.boards.line import Line, load_gpiod, low_output, taken


def outputs_outlive(line: Line, sys_root: Path = Path("/sys")) -> bool | None:
    """Whether ``line`` stays an output when its owner is killed; None where that cannot be told. KeeperError if in use."""
    gpiod = load_gpiod()
    settings = low_output()
    taken(line.chip, line.offset, settings).release()
    child = os.fork()
    if child == 0:
        try:
            gpiod.request_lines(line.chip, consumer="lamphouse probe", config={line.offset: settings})
        finally:
            os.kill(os.getpid(), signal.SIGKILL)
    os.waitpid(child, 0)
    number = _sysfs_number(line, sys_root / "class" / "gpio")
    if number is None:
        return None
    pin = sys_root / "class" / "gpio" / f"gpio{number}"
    try:
        (sys_root / "class" / "gpio" / "export").write_text(str(number))
        return (pin / "direction").read_text().strip() == "out"
    except OSError:
        return None
    finally:
        with suppress(OSError):
            (sys_root / "class" / "gpio" / "unexport").write_text(str(number))


def _sysfs_number(line: Line, root: Path) -> int | None:
    """The old global number of a line: its chip's base, found by the chip's label."""
    gpiod = load_gpiod()
    with gpiod.Chip(line.chip) as chip:
        label = chip.get_info().label
    for folder in root.glob("gpiochip*"):
        with suppress(OSError, ValueError):
            if (folder / "label").read_text().strip() == label:
                return int((folder / "base").read_text()) + line.offset
    return None
