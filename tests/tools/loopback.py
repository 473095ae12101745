"""The witness of a real rig: a Raspberry Pi's input wired to the lamp output, an output wired to the footswitch input.

Opt-in: hardware/rig/README.md. It speaks the same words as the simulated wire's witness.
"""

import time
from typing import Any

from tests.tools.witness import Edge, Edges


class Loopback(Edges):
    def __init__(self, seen: int, foot: int) -> None:
        from gpiozero import DigitalInputDevice, OutputDevice

        super().__init__()
        self._seen: Any = DigitalInputDevice(seen, pull_up=False)
        self._seen.when_activated = lambda: self._edge(True)
        self._seen.when_deactivated = lambda: self._edge(False)
        self._foot: Any = OutputDevice(foot, active_high=False, initial_value=False)

    def _edge(self, on: bool) -> None:
        at = time.monotonic_ns()
        with self.changed:
            self.edges.append(Edge(on, at))
            self.changed.notify_all()

    def tell(self, line: str) -> None:
        if line == "P1":
            self.other.append(f"pressed {time.monotonic_ns()}")
            self._foot.on()
        elif line == "P0":
            self._foot.off()

    def close(self) -> None:
        self._seen.close()
        self._foot.close()
