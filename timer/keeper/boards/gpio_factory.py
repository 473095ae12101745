"""The lamp on a pin of gpiozero, through the pin factory that GPIOZERO_PIN_FACTORY names on purpose.

For pins that are not the kernel's own lines, and for tests. gpiozero is never left to choose a factory by itself: one
of those it falls back to writes the chip's registers, and its outputs outlive the process on every kernel.
gpiozero is imported within what uses it, for the start-up time: only a lamp on pins needs it.
"""

import os
import socket
import threading
import time
from collections import deque
from collections.abc import Sequence
from contextlib import suppress
from typing import Any

from timer.errors import KeeperError
from timer.keeper.boards.line import Line, check_lamp_pin, find_chip
from timer.keeper.config import Config

KERNEL_FACTORIES = frozenset({"lgpio", "native", "rpigpio", "pigpio"})
"""gpiozero's own factories for a Pi's header: there a guard can take the line itself once the keeper is gone."""
_SOUNDS = ((700.0, 0.03, 1), (900.0, 0.08, 2), (1200.0, 0.15, 1), (600.0, 0.4, 1))
"""For each cue: pitch in Hz (in the middle, where a fan or a tap hides it least), seconds, times. Common practice."""


class FactoryBoard:
    """Pins are BCM numbers; 0 for safelight, footswitch or buzzer means there is none."""

    def __init__(self, config: Config) -> None:
        from gpiozero import Buzzer, DigitalInputDevice, OutputDevice, TonalBuzzer

        check_lamp_pin(config.lamp_pin, config.chip)
        self.line: Line | None = None
        self.pedal_down = False
        self._devices: list[Any] = []
        self._edges: deque[tuple[bool, int]] = deque()
        self._wake, self._woken = socket.socketpair()
        self._wake.setblocking(False)
        self._woken.setblocking(False)
        self._tonal = config.buzzer_tonal
        self._buzzer: Any = None
        try:
            self._lamp = OutputDevice(config.lamp_pin, active_high=True, initial_value=False)
            self._devices.append(self._lamp)
            self._safelight = self._output(config.safelight_pin, OutputDevice)
            if config.buzzer_pin:
                self._buzzer = TonalBuzzer(config.buzzer_pin, octaves=3) if self._tonal else Buzzer(config.buzzer_pin)
                self._devices.append(self._buzzer)
            if config.footswitch_pin:
                switch = DigitalInputDevice(config.footswitch_pin, pull_up=True)
                self._devices.append(switch)
                switch.when_activated = lambda: self._edge(True)
                switch.when_deactivated = lambda: self._edge(False)
                self.pedal_down = bool(switch.value)
        except Exception as error:  # gpiozero's factories raise many kinds; the printer needs one sentence
            self.close()
            factory = os.environ["GPIOZERO_PIN_FACTORY"]
            raise KeeperError(
                f"cannot open GPIO pins by the pin factory {factory!r}: {error}; see hardware/README.md, "
                "or take GPIOZERO_PIN_FACTORY out of the environment"
            ) from error
        self.line = _line_of(config)

    def _output(self, pin: int, kind: Any) -> Any:
        if not pin:
            return None
        device = kind(pin, active_high=True, initial_value=False)
        self._devices.append(device)
        return device

    def lamp(self, on: bool) -> int:
        if on:
            self._lamp.on()
        else:
            self._lamp.off()
        return time.monotonic_ns()

    def safelight(self, on: bool) -> None:
        if self._safelight:
            self._safelight.value = on

    def sound(self, cue: int) -> None:
        if not self._buzzer:
            return
        hertz, on_s, times = _SOUNDS[cue]
        if self._tonal:
            # A tone cannot be counted by gpiozero itself: each is started here and ended by a timer.
            for n in range(times):
                threading.Timer(2 * n * on_s, self._tone, (hertz, on_s)).start()
        else:
            self._buzzer.beep(on_time=on_s, off_time=on_s, n=times, background=True)

    def _tone(self, hertz: float, seconds: float) -> None:
        from gpiozero.tones import Tone

        self._buzzer.play(Tone.from_frequency(hertz))
        threading.Timer(seconds, self._buzzer.stop).start()

    def _edge(self, down: bool) -> None:
        """Called on gpiozero's own thread: note the time, wake the keeper."""
        self._edges.append((down, time.monotonic_ns()))
        with suppress(BlockingIOError):  # full: it has been woken already
            self._wake.send(b"!")

    def inputs(self) -> Sequence[Any]:
        return [self._woken]

    def pedal_edges(self) -> list[tuple[bool, int]]:
        with suppress(BlockingIOError):
            self._woken.recv(4096)
        edges = []
        while self._edges:  # one by one from the left: an edge that comes meanwhile is taken too, and never lost
            edges.append(self._edges.popleft())
        return edges

    def close(self) -> None:
        devices, self._devices = self._devices, []
        for device in devices[:1]:  # the lamp first, before it is let go
            device.off()
        for device in reversed(devices):
            device.close()
        self._wake.close()
        self._woken.close()


def _line_of(config: Config) -> Line | None:
    if os.environ["GPIOZERO_PIN_FACTORY"] not in KERNEL_FACTORIES:
        return None
    with suppress(KeeperError):
        return Line(find_chip(config.chip), config.lamp_pin)
    return None
