"""The lamp on a line of the kernel's GPIO character device, through libgpiod's own bindings.

Active-high drive only, behind a relay stage with a hardware resistor to off. Whether an output falls back when its
owner dies is the pin driver's choice: a guard beside the keeper takes the line then, and drives it low.
"""

import time
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from timer.errors import KeeperError
from timer.keeper.boards.buzzer import Buzzer
from timer.keeper.boards.protocol import Line
from timer.keeper.config import Config

HEADER_CHIPS = ("pinctrl-rp1", "pinctrl-bcm2712", "pinctrl-bcm2711", "pinctrl-bcm2835")
"""Names that the kernel gives to the chip of a Raspberry Pi's pin header, newest first."""
EDGES_KEPT = 256
"""Footswitch edges that the kernel keeps until they are read: a long chatter, each edge with its own time."""
TAKE_S = 1.0
"""How long to wait for a line that somebody is just letting go of."""


class LinesBoard:
    """All lines of one lamp, requested for this process alone. Edges of the footswitch carry the kernel's own time."""

    def __init__(self, config: Config) -> None:
        gpiod = load_gpiod()
        if config.buzzer_tonal and config.buzzer_pin:
            raise KeeperError(
                "a passive buzzer (buzzer_is_tonal) needs a pin factory that makes tones, such as "
                "GPIOZERO_PIN_FACTORY=lgpio; an active buzzer needs none: take buzzer_is_tonal out of [pins]"
            )
        self._on, self._off = gpiod.line.Value.ACTIVE, gpiod.line.Value.INACTIVE
        self._lamp = config.lamp_pin
        check_lamp_pin(config.lamp_pin, config.chip)
        chip = find_chip(config.chip)
        self.line: Line | None = Line(chip, config.lamp_pin)
        self.pedal_down = False
        self._foot: Any = None
        self._safe: Any = None
        self._buzzer: Buzzer | None = None
        self._open = ExitStack()
        low = gpiod.LineSettings(direction=gpiod.line.Direction.OUTPUT, output_value=self._off)
        try:
            self._request: Any = self._open.enter_context(taken(chip, config.lamp_pin, low))
            if config.safelight_pin:
                self._safelight = config.safelight_pin
                self._safe = self._open.enter_context(taken(chip, config.safelight_pin, low))
            if config.buzzer_pin:
                sounding = self._open.enter_context(taken(chip, config.buzzer_pin, low))
                pin = config.buzzer_pin
                self._buzzer = Buzzer(lambda on: sounding.set_value(pin, self._on if on else self._off))
                self._open.callback(self._buzzer.close)
            if config.footswitch_pin:
                self._foot = self._open.enter_context(taken(chip, config.footswitch_pin, _footswitch(gpiod)))
                time.sleep(0.001)  # the pull-up needs its microseconds
                self.pedal_down = self._foot.get_value(config.footswitch_pin) is self._on
        except BaseException:
            self._open.close()
            raise

    def lamp(self, on: bool) -> int:
        self._request.set_value(self._lamp, self._on if on else self._off)
        return time.monotonic_ns()

    def safelight(self, on: bool) -> None:
        if self._safe:
            self._safe.set_value(self._safelight, self._on if on else self._off)

    def sound(self, cue: int) -> None:
        if self._buzzer:
            self._buzzer.sound(cue)

    def inputs(self) -> Sequence[Any]:
        return [self._foot] if self._foot else []

    def pedal_edges(self) -> list[tuple[bool, int]]:
        if not self._foot:
            return []
        found = []
        while self._foot.wait_edge_events(0):
            for event in self._foot.read_edge_events():
                # Active means closed: the line is read as active-low.
                found.append((event.event_type is event.Type.RISING_EDGE, int(event.timestamp_ns)))
        return found

    def close(self) -> None:
        if self._request:
            self._request.set_value(self._lamp, self._off)
        self._request = None
        self._open.close()


def _footswitch(gpiod: Any) -> Any:
    """A dry contact to ground, pulled up: closed reads as active."""
    line = gpiod.line
    return gpiod.LineSettings(
        direction=line.Direction.INPUT,
        bias=line.Bias.PULL_UP,
        edge_detection=line.Edge.BOTH,
        active_low=True,
        event_clock=line.Clock.MONOTONIC,
    )


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
            raise KeeperError(f'{path}: is no GPIO chip; chip = "" in [pins] of the settings finds the pin header by itself')
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


def user_of(chip: str, offset: int) -> str:
    """The name that the user of a line gave to the kernel; empty when nobody uses it or it cannot be told."""
    gpiod = load_gpiod()
    try:
        with gpiod.Chip(chip) as opened:
            info = opened.get_line_info(offset)
            return (info.consumer or "unnamed") if info.used else ""
    except (OSError, ValueError):
        return ""
