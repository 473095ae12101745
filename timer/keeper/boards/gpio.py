"""The lamp on a GPIO pin, through gpiozero and whichever pin factory it is told to use.

Active-high drive only, behind a relay stage with a hardware pull to off: then a dead process, a pin that was
released and a Pi without power are all dark. ``GPIOZERO_PIN_FACTORY`` in the environment chooses the factory.
"""

import socket
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from timer.errors import KeeperError

_SOUNDS = ((700.0, 0.03, 1), (900.0, 0.08, 2), (1200.0, 0.15, 1), (600.0, 0.4, 1))
"""For each cue: pitch in Hz (in the middle, where a fan or a tap hides it least), seconds, times. Common practice."""


class GpioBoard:
    """``pins`` are BCM numbers; 0 for safelight, footswitch or buzzer means there is none."""

    def __init__(self, lamp: int, safelight: int, footswitch: int, buzzer: int, *, tonal: bool = False) -> None:
        from gpiozero import Buzzer, DigitalInputDevice, OutputDevice, TonalBuzzer

        if outputs_outlive_process():
            raise KeeperError(
                "GPIO outputs of this Pi outlive the program that set them, so a killed one would leave the lamp on: "
                "add dtparam=strict_gpiod to /boot/firmware/config.txt and start the Pi again"
            )
        try:
            self._lamp = OutputDevice(lamp, active_high=True, initial_value=False)
            self._devices: list[Any] = [self._lamp]
            self._safelight = self._output(safelight, OutputDevice)
            self._tonal = tonal
            self._buzzer: Any = None
            if buzzer:
                self._buzzer = TonalBuzzer(buzzer, octaves=3) if tonal else Buzzer(buzzer)
                self._devices.append(self._buzzer)
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
            raise KeeperError(f"the GPIO pins cannot be had: {error}; see docs/hardware or use --lamp simulated") from error

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
        self._wake.close()
        self._woken.close()


def outputs_outlive_process(root: Path = Path("/sys/module")) -> bool:
    """Whether this Pi's pin driver keeps an output as it was when its owner dies."""
    found = root.glob("pinctrl_*/parameters/persist_gpio_outputs")
    return any(path.read_text().strip() in ("Y", "1") for path in found)
