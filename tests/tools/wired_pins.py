"""A third-party gpiozero pin factory for tests: mock pins on a wire.

It is found through the entry point that ``install_wired`` writes, named in GPIOZERO_PIN_FACTORY, and speaks the
witness's language on the socket named in WIRED_PINS. Pin ``LAMP`` is the lamp, pin 27 the footswitch (active low).
"""

import contextlib
import os
import socket
import threading
import time
from pathlib import Path
from typing import Any

from gpiozero.pins.mock import MockFactory, MockPin

LAMP = int(os.environ.get("WIRED_LAMP") or 9 + os.getpid() % 18)
"""Of the test's own process: one pin is one lamp on the whole machine, and another test run may be on it."""
FOOTSWITCH = 27


class WiredPin(MockPin):  # type: ignore[misc]
    def _change_state(self, value: Any) -> bool:
        if os.environ.get("WIRED_HANG") and not value and self._state and self.info.name == f"GPIO{LAMP}":
            time.sleep(60)  # the driver does not come back
        changed = bool(super()._change_state(value))
        at = time.monotonic_ns()
        if changed and self.info.name == f"GPIO{LAMP}":
            self.factory.tell(f"L{int(bool(value))} {at}")
        return changed

    def _set_pull(self, value: str) -> None:
        super()._set_pull(value)
        if self.info.name == f"GPIO{FOOTSWITCH}" and os.environ.get("WIRED_HELD") == "1":
            self._state = False  # a foot is on it, whatever the pull


class WiredFactory(MockFactory):  # type: ignore[misc]
    def __init__(self) -> None:
        super().__init__(pin_class=WiredPin)
        self.link = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self.link.connect(os.environ["WIRED_PINS"])
        threading.Thread(target=self._listen, daemon=True).start()

    def tell(self, line: str) -> None:
        with contextlib.suppress(OSError):
            self.link.sendall(line.encode() + b"\n")

    def _listen(self) -> None:
        held = b""
        while data := self.link.recv(4096):
            *lines, held = (held + data).split(b"\n")
            for line in lines:
                pin = self.pin(FOOTSWITCH)
                at = time.monotonic_ns()
                if line == b"P1":
                    pin.drive_low()
                    self.tell(f"pressed {at}")
                elif line == b"P0":
                    pin.drive_high()


def install_wired(folder: Path, witness_path: Path) -> dict[str, str]:
    """Make the factory known under ``folder`` as a package would; the environment to add for it to be used."""
    info = folder / "wired_pins-1.0.dist-info"
    info.mkdir(exist_ok=True)
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: wired-pins\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text("[gpiozero_pin_factories]\nwired = wired_pins:WiredFactory\n")
    tools = Path(__file__).parent
    return {
        "GPIOZERO_PIN_FACTORY": "wired",
        "WIRED_LAMP": str(LAMP),
        "WIRED_PINS": str(witness_path),
        "PYTHONPATH": os.pathsep.join([str(folder), str(tools), *filter(None, [os.environ.get("PYTHONPATH")])]),
    }
