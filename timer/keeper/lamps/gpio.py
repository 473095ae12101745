"""The lamp on a GPIO pin, through gpiozero and whichever pin factory it is told to use.

Active-high drive only, behind a relay stage with a hardware pull to off: then a dead process, a pin that was
released and a Pi without power are all dark. ``GPIOZERO_PIN_FACTORY`` in the environment chooses the factory.
"""

import socket
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from timer.errors import KeeperError


class GpioBoard:
    """``pins`` are BCM numbers; 0 for safelight, footswitch or buzzer means there is none."""

    def __init__(self, lamp: int, safelight: int, footswitch: int, buzzer: int) -> None:
        from gpiozero import DigitalInputDevice, OutputDevice

        if outputs_outlive_process():
            raise KeeperError(
                "GPIO outputs of this Pi outlive the program that set them, so a killed one would leave the lamp on: "
                "add dtparam=strict_gpiod to /boot/firmware/config.txt and start the Pi again"
            )
        try:
            self._lamp = OutputDevice(lamp, active_high=True, initial_value=False)
            self._devices: list[Any] = [self._lamp]
            self._safelight = self._output(safelight, OutputDevice)
            self._buzzer = self._output(buzzer, OutputDevice)
            self._edges: list[tuple[bool, int]] = []
            self._wake, self._woken = socket.socketpair()
            self._wake.setblocking(False)
            self._woken.setblocking(False)
            self.pedal_down = False
            if footswitch:
                switch = DigitalInputDevice(footswitch, pull_up=True)
                self._devices.append(switch)
                switch.when_activated = lambda: self._edge(True)
                switch.when_deactivated = lambda: self._edge(False)
                self.pedal_down = bool(switch.value)
        except Exception as error:  # gpiozero's factories raise many kinds; the printer needs one sentence
            raise KeeperError(
                f"the GPIO pins cannot be had: {error}; see docs/hardware or use --lamp simulated"
            ) from error

    def _output(self, pin: int, kind: Any) -> Any:
        if not pin:
            return None
        device = kind(pin, active_high=True, initial_value=False)
        self._devices.append(device)
        return device

    def lamp(self, on: bool) -> None:
        if on:
            self._lamp.on()
        else:
            self._lamp.off()

    def safelight(self, on: bool) -> None:
        if self._safelight:
            self._safelight.value = on

    def sound(self, cue: int) -> None:
        if self._buzzer:  # an active buzzer: one chirp for a tick, longer for what matters more
            self._buzzer.blink(on_time=(0.02, 0.08, 0.15, 0.4)[cue], off_time=0.05, n=(1, 2, 1, 1)[cue])

    def _edge(self, down: bool) -> None:
        """Called on gpiozero's own thread: note the time, wake the keeper."""
        self._edges.append((down, time.monotonic_ns()))
        with suppress(BlockingIOError):  # full: it has been woken already
            self._wake.send(b"!")

    def inputs(self) -> list[socket.socket]:
        return [self._woken]

    def pedal_edges(self) -> list[tuple[bool, int]]:
        with suppress(BlockingIOError):
            self._woken.recv(4096)
        edges, self._edges = self._edges, []
        return edges

    def close(self) -> None:
        self._lamp.off()
        for device in reversed(self._devices):
            device.close()


def outputs_outlive_process(root: Path = Path("/sys/module")) -> bool:
    """Whether this Pi's pin driver keeps an output as it was when its owner dies."""
    found = root.glob("pinctrl_*/parameters/persist_gpio_outputs")
    return any(path.read_text().strip() in ("Y", "1") for path in found)
