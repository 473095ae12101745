"""The witness of a real rig: a Raspberry Pi's input wired to the lamp output, an output wired to the footswitch input.

Opt-in: hardware/rig/README.md. It speaks the same words as the simulated wire's witness.
"""

import threading
import time

from tests.tools.witness import Edge, Edges
from timer.keeper.boards.line import find_chip, load_gpiod


class Loopback(Edges):
    def __init__(self, seen: int, foot: int) -> None:
        super().__init__()
        gpiod = load_gpiod()
        line = gpiod.line
        chip = find_chip("")
        watched = gpiod.LineSettings(direction=line.Direction.INPUT, bias=line.Bias.PULL_DOWN, edge_detection=line.Edge.BOTH)
        # Low is a foot on the switch: the wire pulls the input to ground.
        up = gpiod.LineSettings(direction=line.Direction.OUTPUT, output_value=line.Value.ACTIVE)
        self._values = {"P1": line.Value.INACTIVE, "P0": line.Value.ACTIVE}
        self._foot_pin = foot
        self._seen = gpiod.request_lines(chip, consumer="rig lamp", config={seen: watched})
        self._foot = gpiod.request_lines(chip, consumer="rig foot", config={foot: up})
        self._closing = False
        self._thread = threading.Thread(target=self._watch, daemon=True)
        self._thread.start()

    def _watch(self) -> None:
        while not self._closing:
            if not self._seen.wait_edge_events(0.1):
                continue
            for event in self._seen.read_edge_events():
                with self.changed:
                    on = event.event_type is event.Type.RISING_EDGE
                    self.edges.append(Edge(on, event.timestamp_ns))
                    self.changed.notify_all()

    def tell(self, line: str) -> None:
        if line == "P1":
            self.other.append(f"pressed {time.monotonic_ns()}")
        if line in self._values:
            self._foot.set_value(self._foot_pin, self._values[line])

    def close(self) -> None:
        self._closing = True
        self._thread.join(1)
        self._seen.release()
        self._foot.release()
