"""The lamp on a line of the kernel's GPIO character device.

Active-high drive only, behind a relay stage with a hardware resistor to off. Whether an output falls back when its
owner dies is the pin driver's choice: a guard beside the keeper takes the line then, and drives it low.
"""

import time
from collections.abc import Sequence
from contextlib import ExitStack, suppress
from typing import Any

from timer.errors import KeeperError
from timer.keeper.boards.buzzer import Buzzer
from timer.keeper.boards.line import EDGES_KEPT, Line, check_lamp_pin, find_chip, load_gpiod, low_output, taken
from timer.keeper.config import Config


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
        low = low_output()
        try:
            self._request: Any = self._open.enter_context(taken(chip, config.lamp_pin, low))
            self._must_be_low(chip)
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

    def _must_be_low(self, chip: str) -> None:
        """KeeperError where something else drives the lamp's line: it may be lit, and nothing here can end that light."""
        time.sleep(0.001)  # a long wire needs its microseconds
        with suppress(OSError):  # a chip that cannot read its outputs
            if self._request.get_value(self._lamp) is self._on:
                raise KeeperError(
                    f"GPIO pin {self._lamp} of {chip} reads high though it is driven low: a short, or a wire in the wrong "
                    "place; pull the lamp's plug"
                )

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
        found: list[tuple[bool, int]] = []
        # No more than the kernel keeps: a line that chatters faster than it is read must not hold up an off-edge.
        while len(found) < EDGES_KEPT and self._foot.wait_edge_events(0):
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
