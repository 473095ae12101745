"""The witness of a real rig: a Raspberry Pi's input wired to the lamp output, an output wired to the footswitch input.

Opt-in: hardware/rig/README.md. It speaks the same words as the simulated wire's witness.
"""

import threading
import time
from typing import Any

from tests.tools.witness import Edge


class Loopback:
    def __init__(self, seen: int, foot: int) -> None:
        from gpiozero import DigitalInputDevice, OutputDevice

        self.edges: list[Edge] = []
        self.other: list[str] = []
        self.changed = threading.Condition()
        self._seen: Any = DigitalInputDevice(seen, pull_up=False)
        self._seen.when_activated = lambda: self._edge(True)
        self._seen.when_deactivated = lambda: self._edge(False)
        self._foot: Any = OutputDevice(foot, active_high=False, initial_value=False)

    def _edge(self, on: bool) -> None:
        at = time.monotonic_ns()
        with self.changed:
            self.edges.append(Edge(on, at))
            self.changed.notify_all()

    @property
    def lit(self) -> bool:
        return bool(self.edges) and self.edges[-1].on

    def wait(self, lit: bool, seconds: float = 10.0, *, more_than: int = 0) -> Edge:
        with self.changed:
            came = self.changed.wait_for(lambda: self.lit == lit and len(self.edges) > more_than, seconds)
            assert came, f"the lamp was not {'lit' if lit else 'dark'} within {seconds} s"
            return self.edges[-1] if self.edges else Edge(False, 0)

    def tell(self, line: str) -> None:
        if line == "P1":
            self.other.append(f"pressed {time.monotonic_ns()}")
            self._foot.on()
        elif line == "P0":
            self._foot.off()

    def exposures_ns(self) -> list[int]:
        times = [e.at_ns for e in self.edges]
        return [off - on for on, off in zip(times[::2], times[1::2], strict=False)]

    def close(self) -> None:
        self._seen.close()
        self._foot.close()
