"""The firmware on a script: what happens to it at which cycle, and what it did, to the cycle (script.c)."""

import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

from tests.hil.sim import STACK_FREE, built
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Decoder, encode

M = TypeVar("M", bound=messages.Message)
MHZ = 16
MS = 1000 * MHZ
BEAT_MS = 200
BYTE_CYCLES = 1504  # as in mcu.h
TRUE_US = 2
UNMASKED_US = 150
"""The receiver of an ATmega328P holds two bytes while a third comes: so long may interrupts be off, and none is lost."""


@dataclass(frozen=True)
class Said:
    """A message of the board's; ``at`` is the cycle of its last byte."""

    at: int
    number: int
    message: messages.Message


@dataclass
class Story:
    """What one run did. Times in cycles of 16 MHz."""

    lamp: list[tuple[int, bool]] = field(default_factory=list)
    sent: list[tuple[int, int]] = field(default_factory=list)
    marks: dict[str, list[int]] = field(default_factory=dict)
    gaps: dict[str, int] = field(default_factory=dict)
    stack: int = 0
    masked: int = 0

    @cached_property
    def said(self) -> list[Said]:
        decoder, out = Decoder(), []
        for at, byte in self.sent:
            for frame in decoder.feed(bytes([byte])):
                message = messages.from_frame(frame)
                assert message is not None, frame
                out.append(Said(at, frame.number, message))
        assert decoder.dropped == 0
        return out

    def of(self, kind: type[M]) -> list[M]:
        return [said.message for said in self.said if isinstance(said.message, kind)]

    @property
    def lights(self) -> list[tuple[int, int]]:
        """(on, off) of every light that has ended."""
        times = [at for at, _ in self.lamp]
        return [*zip(times[::2], times[1::2], strict=False)]

    def assert_true(self) -> None:
        """It is dark, and what was told of the light is what the pin did: each light once, and to 2 µs."""
        assert not (self.lamp and self.lamp[-1][1]), "lit at the end"
        told = [dark.off_us - dark.on_us for dark in self.of(messages.Dark)]
        seen = [(off - on) / MHZ for on, off in self.lights]
        assert len(told) == len(seen), (told, seen)
        assert all(abs(a - b) <= TRUE_US for a, b in zip(told, seen, strict=True)), (told, seen)
        assert [lit.exposure for lit in self.of(messages.Lit)] == [dark.exposure for dark in self.of(messages.Dark)]


class Script:
    """Lines for the simulator, in the order of writing; all times are given in ms or in cycles since power-up."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self._number = 0

    def at(self, cycle: float, what: str) -> None:
        self.lines.append(f"{round(cycle)} {what}")

    def say(self, cycle: float, command: messages.Command, number: int | None = None, *, moves: bool = False) -> int:
        """Send ``command``; returns the cycle in which the board has all of it at the earliest."""
        if number is None:
            self._number += 1
            number = self._number
        return self.raw(cycle, encode(messages.to_frame(command, number)), moves=moves)

    def raw(self, cycle: float, data: bytes, *, moves: bool = False) -> int:
        self.lines.append(f"{round(cycle)}{'+' if moves else ''} rx {data.hex()}")
        return round(cycle) + len(data) * BYTE_CYCLES

    def beats(self, start_ms: float, end_ms: float) -> None:
        at = start_ms
        while at < end_ms:
            self.say(at * MS, messages.Heartbeat(), 0)
            at += BEAT_MS

    def foot(self, cycle: float, down: bool, *, moves: bool = False) -> None:
        self.lines.append(f"{round(cycle)}{'+' if moves else ''} foot {int(down)}")

    def hang(self, cycle: float, symbol: str, heal: float | None = None) -> None:
        """From ``cycle`` on the firmware goes round and round at the start of ``symbol``; until ``heal``."""
        address = f"{built().symbols[symbol]:x}"
        self.at(cycle, f"hang {address}")
        if heal is not None:
            self.at(heal, f"heal {address}")

    def write(self, cycle: float, address: int, value: int, *, moves: bool = False) -> None:
        """Memory, or a register, is changed by something that is not the firmware."""
        self.lines.append(f"{round(cycle)}{'+' if moves else ''} ram {address:x} {value:x}")

    def reset(self, cycle: float, *, moves: bool = False) -> None:
        self.lines.append(f"{round(cycle)}{'+' if moves else ''} reset")

    def mark(self, symbol: str, name: str = "", *, quiet: bool = False) -> None:
        """Tell when ``symbol`` is run; ``quiet``: only the longest time between two."""
        self.lines.append(f"mark {built().symbols[symbol]:x} {name or symbol} {'q' if quiet else ''}")

    def run(self, until_ms: float) -> Story:
        (story,) = self._run(until_ms)
        return story

    def run_cases(self, until_ms: float, start: float, count: int, step: int = 1) -> list[Story]:
        """Once for each shift of what ``moves``; all before the cycle ``start`` is run only once."""
        return [*self._run(until_ms, f"cases {round(start)} {count} {step}")]

    def _run(self, until_ms: float, *more: str) -> Iterator[Story]:
        made = built()
        lines = [*self.lines, *more, f"until {round(until_ms * MS)}"]
        command = [str(made.script), str(made.elf), made.stack_low]
        done = subprocess.run(command, input="\n".join(lines) + "\n", capture_output=True, text=True, timeout=500)
        assert done.returncode == 0, (done.returncode, done.stdout[-500:])
        before, *cases = done.stdout.split("\ncase ")
        for case in cases or [""]:
            yield _story((before + "\n" + case).splitlines())


def _story(lines: list[str]) -> Story:
    story = Story()
    for line in lines:
        match line.split():
            case [at, "lamp", level]:
                story.lamp.append((int(at), level == "1"))
            case [at, "tx", byte]:
                story.sent.append((int(at), int(byte, 16)))
            case [at, "mark", name]:
                story.marks.setdefault(name, []).append(int(at))
            case ["gap", name, cycles]:
                story.gaps[name] = int(cycles)
            case ["stack", free]:
                story.stack = int(free)
            case ["masked", cycles]:
                story.masked = int(cycles)
    assert story.stack >= STACK_FREE, f"the stack left {story.stack} bytes"
    assert story.masked <= UNMASKED_US * MHZ, f"interrupts were off for {story.masked / MHZ} µs"
    return story
