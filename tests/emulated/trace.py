"""What the emulator tells of its pins, as edges on the host's clock: a witness that no program in the guest can fool."""

import re
import threading
import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

POLL_S = 0.01
_STAMPED = re.compile(r"\d+@(\d+\.\d+):(\w+) (.*)")


@dataclass(frozen=True)
class Edge:
    """Pin ``pin`` became ``high`` at ``at``, seconds of the host's clock (time.time)."""

    pin: int
    high: bool
    at: float


class Decoder(Protocol):
    """Trace lines to edges; an undriven pin counts as low: a resistor pulls it there."""

    def feed(self, line: str) -> list[Edge]: ...


class Pl061:
    """ARM's PL061 as QEMU traces it: every change of an output, by name."""

    _SET = re.compile(r"setting output (\d+) to (\d)")

    def __init__(self) -> None:
        self._high: dict[int, bool] = {}

    def feed(self, line: str) -> list[Edge]:
        stamped = _STAMPED.match(line)
        told = self._SET.search(stamped[3]) if stamped and stamped[2] == "pl061_set_output" else None
        if not stamped or not told:
            return []
        pin, high = int(told[1]), told[2] == "1"
        if self._high.get(pin, False) is high:
            return []
        self._high[pin] = high
        return [Edge(pin, high, float(stamped[1]))]


class Bcm2835:
    """The Pi's GPIO block by the writes to its registers (BCM2835 ARM Peripherals, chapter 6): select, set, clear."""

    _WRITE = re.compile(r"addr 0x([0-9a-f]+) value 0x([0-9a-f]+) size \d+ name 'bcm2835_gpio'")
    _SET, _CLEAR = 0x1C, 0x28
    _PULL, _PULL_CLOCK = 0x94, 0x98
    _OUTPUT = 0b001

    def __init__(self, pins: Iterable[int]) -> None:
        self._pins = tuple(pins)
        self._output = dict.fromkeys(self._pins, False)
        self._level = dict.fromkeys(self._pins, False)
        self._high = dict.fromkeys(self._pins, False)
        self._pull = 0
        self.pulls: dict[int, str] = {}
        """Pins whose own pull was set: off, down or up."""

    def feed(self, line: str) -> list[Edge]:
        told = self._WRITE.search(line) if "bcm2835_gpio" in line else None
        stamped = _STAMPED.match(line) if told else None
        if not told or not stamped:
            return []
        register, value = int(told[1], 16) & 0xFF, int(told[2], 16)
        edges = []
        if register == self._PULL:
            self._pull = value & 0b11
        for pin in self._pins:
            if register == self._PULL_CLOCK + 4 * (pin // 32) and value >> pin % 32 & 1:
                self.pulls[pin] = ("off", "down", "up", "")[self._pull]
            bit = value >> pin % 32 & 1
            if register == 4 * (pin // 10):
                self._output[pin] = value >> 3 * (pin % 10) & 0b111 == self._OUTPUT
            elif register == self._SET + 4 * (pin // 32) and bit:
                self._level[pin] = True
            elif register == self._CLEAR + 4 * (pin // 32) and bit:
                self._level[pin] = False
            high = self._output[pin] and self._level[pin]
            if high is not self._high[pin]:
                self._high[pin] = high
                edges.append(Edge(pin, high, float(stamped[1])))
        return edges


class Witness:
    """Follows a trace file while it grows, and answers about edges. ``close`` ends it."""

    def __init__(self, path: Path, decoder: Decoder) -> None:
        self._path, self._decoder = path, decoder
        self._edges: list[Edge] = []
        self._more = threading.Condition()
        self._ended = False
        self._thread = threading.Thread(target=self._follow, name=f"witness {path.name}", daemon=True)
        self._thread.start()

    def _follow(self) -> None:
        with self._path.open(errors="replace") as file:
            rest = ""
            while True:
                last = self._ended  # one more look after the end
                read = file.read(1 << 16)
                *lines, rest = (rest + read).split("\n")
                found = [edge for line in lines for edge in self._decoder.feed(line)]
                if found:
                    with self._more:
                        self._edges += found
                        self._more.notify_all()
                if not read:
                    if last:
                        return
                    time.sleep(POLL_S)

    def edges(self, pin: int, since: float = 0.0) -> list[Edge]:
        """Edges of ``pin`` from ``since`` on, in order."""
        with self._more:
            return [edge for edge in self._edges if edge.pin == pin and edge.at >= since]

    def high(self, pin: int) -> bool:
        """Whether ``pin`` is high now."""
        found = self.edges(pin)
        return bool(found) and found[-1].high

    def wait(self, pin: int, high: bool, since: float, seconds: float) -> Edge | None:
        """The first edge of ``pin`` to ``high`` from ``since`` on, if it comes within ``seconds`` from now."""
        end = time.monotonic() + seconds
        with self._more:
            while True:
                for edge in self._edges:
                    if edge.pin == pin and edge.high is high and edge.at >= since:
                        return edge
                left = end - time.monotonic()
                if left <= 0:
                    return None
                self._more.wait(left)

    def lights(self, pin: int, since: float = 0.0) -> list[tuple[float, float]]:
        """When ``pin`` was high from ``since`` on: from, to; infinity for a light that still is."""
        found: list[tuple[float, float]] = []
        for edge in self.edges(pin, since):
            if edge.high:
                found.append((edge.at, float("inf")))
            elif found:
                found[-1] = (found[-1][0], edge.at)
        return found

    def close(self) -> None:
        self._ended = True
        self._thread.join(5)
