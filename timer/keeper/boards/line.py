"""A line of a GPIO chip, through libgpiod's own bindings: which chip, taking a line, driving it low, who has it.

Only what a guard needs.
gpiod is imported within what uses it: it is loaded, and missed, only where there are pins.
"""

import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from timer.errors import KeeperError

HEADER_CHIPS = ("pinctrl-rp1", "pinctrl-bcm2712", "pinctrl-bcm2711", "pinctrl-bcm2835")
"""Names that the kernel gives to the chip of a Raspberry Pi's pin header, newest first."""
EDGES_KEPT = 256
"""Footswitch edges that the kernel keeps until they are read: a long chatter, each edge with its own time."""
TAKE_S = 1.0
"""How long to wait for a line that somebody is just letting go of."""


@dataclass(frozen=True)
class Line:
    """A line of a GPIO chip by its character device, so that a guard can take it when its owner is gone."""

    chip: str
    offset: int


def load_gpiod() -> Any:
    """libgpiod's bindings; KeeperError that says how to get them."""
    try:
        import gpiod
    except ImportError:
        raise KeeperError("the pin library gpiod is missing: pip install 'lamphouse[pi]'") from None
    return gpiod


def find_chip(name: str, root: Path = Path("/dev")) -> str:
    """The character device of the pin header: the chip ``name``, else a Raspberry Pi's own, else gpiochip0."""
    gpiod = load_gpiod()
    if name:
        path = root / Path(name).name
        if not gpiod.is_gpiochip_device(str(path)):
            raise KeeperError(
                f'{path}: is not a GPIO chip; chip = "" in [pins] of the settings finds the pin header by itself'
            )
        return str(path)
    chips = sorted(root.glob("gpiochip*"))
    labels: dict[str, str] = {}
    for path in chips:
        try:
            with gpiod.Chip(str(path)) as chip:
                labels.setdefault(chip.get_info().label, str(path))
        except OSError:
            continue
    for label in HEADER_CHIPS:
        if label in labels:
            return labels[label]
    if labels:
        return next(iter(labels.values()))
    what = "you may not open one: join the group gpio" if chips else "there is no /dev/gpiochip0"
    raise KeeperError(f"cannot open GPIO pins: {what}; see hardware/README.md, or use --lamp simulated")


def check_lamp_pin(pin: int, chip: str = "") -> None:
    """KeeperError for a pin of a Raspberry Pi's header that is pulled up, towards light, until a program has it.

    BCM2835 ARM Peripherals, table 6-31: GPIO 0 to 8 are pulled high at reset. Another chip's lines have their own ways.
    """
    if pin > 8:
        return
    try:
        gpiod = load_gpiod()
        with gpiod.Chip(find_chip(chip)) as opened:
            if opened.get_info().label not in HEADER_CHIPS:
                return
    except (KeeperError, OSError):
        pass  # no chip to ask: then by the numbers, which are a Pi's
    raise KeeperError(f"GPIO pin {pin} is pulled up at power-on, towards light; take one from 9 to 27 for the lamp")


def taken(chip: str, offset: int, settings: Any) -> Any:
    """Line ``offset`` of ``chip`` for this process; a line that is just being let go of is waited for.

    KeeperError naming who holds it when somebody does.
    """
    gpiod = load_gpiod()
    end = time.monotonic() + TAKE_S
    while True:
        try:
            return gpiod.request_lines(chip, consumer="lamphouse", config={offset: settings}, event_buffer_size=EDGES_KEPT)
        except OSError as error:
            holder = user_of(chip, offset)
            if holder and time.monotonic() < end:
                time.sleep(0.02)
                continue
            said = f"it is in use by {holder!r}" if holder else (error.strerror or str(error)).lower()
        except ValueError as error:
            said = str(error)
        raise KeeperError(
            f"cannot open GPIO pin {offset} of {chip}: {said}; see hardware/README.md, or use --lamp simulated"
        ) from None


def low_output() -> Any:
    """Settings of an output that is low. Its own pull is down as well, where the chip has one, whoever switched that off.

    So a line that falls back to an input leans to dark. The pull is some 50 kΩ and is lost without power: the resistor on
    the wire is still needed.
    """
    line = load_gpiod().line
    settings = load_gpiod().LineSettings
    return settings(direction=line.Direction.OUTPUT, output_value=line.Value.INACTIVE, bias=line.Bias.PULL_DOWN)


def drive_low(chip: str, offset: int, patience_s: float) -> bool:
    """Take a line that has lost its owner and drive it low, however often that must be tried; whether it reads low then."""
    gpiod = load_gpiod()
    low = low_output()
    end = time.monotonic() + patience_s
    while True:
        try:
            with gpiod.request_lines(chip, consumer="lamphouse guard", config={offset: low}) as line:
                return bool(line.get_value(offset) is gpiod.line.Value.INACTIVE)
        except OSError:
            if time.monotonic() > end:
                return False
            time.sleep(0.002)


def user_of(chip: str, offset: int) -> str:
    """The name that the user of a line gave to the kernel; empty when nobody uses it or it cannot be told."""
    gpiod = load_gpiod()
    try:
        with gpiod.Chip(chip) as opened:
            info = opened.get_line_info(offset)
            return (info.consumer or "unnamed") if info.used else ""
    except (OSError, ValueError):
        return ""
