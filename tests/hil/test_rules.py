"""One set of rules, two keepers: what the host and the foot do by chance is answered alike by the firmware and by Python's rules.

Commands come on a grid of 25 ms; the foot, ends and cues have their own places between its lines, so that nothing is a matter
of a millisecond.
"""

import random
from pathlib import Path
from typing import Any

import pytest

from tests.hil.script import BYTE_CYCLES, MS, Script
from timer.keeper.local.memory import Memory
from timer.keeper.local.rules import Core
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Frame, encode

NAMES = range(1, 8)  # no more than the firmware remembers
GRID_MS = 25
CLOSES_MS, OPENS_MS = -11, -6  # of the foot; lights and cues are 17 ms past a line, whether from a line or from a press
STEPS = 120
BEGIN_MS = 1_000
TIME_US = 3_000
"""How far the two may be apart in when they do something, and in how long a light was that somebody ended."""


class _Python:
    """Python's rules, on a clock that we turn."""

    def __init__(self, folder: Path) -> None:
        self.now_ns = 0
        self.lit = False
        self.said: list[tuple[int, messages.Message]] = []
        self.memory = Memory(folder / "memory")
        self.core = Core(self, self.memory, lambda: self.now_ns, self._send)

    def _send(self, message: messages.Message, number: int) -> None:
        self.said.append((number, message))

    def lamp(self, on: bool) -> int:
        self.lit = on
        return self.now_ns

    def safelight(self, on: bool) -> None: ...

    def sound(self, cue: int) -> None: ...

    def until(self, us: float) -> None:
        ns = round(us * 1000)
        while (due := self.core.next_due_ns()) is not None and due <= ns:
            self.now_ns = max(self.now_ns, due)
            self.core.due()
        self.now_ns = ns


def _command(chance: random.Random) -> Frame:
    """Mostly sense, some nonsense."""
    name = chance.choice(NAMES)
    moments = chance.sample(range(17_000, 1_517_000, 25_000), chance.choice((0, 0, 1, 3, 40)))
    cues = tuple((at_us, chance.choice((0, 1, 2, 3))) for at_us in moments)
    on_us = chance.choice((17_000, 42_000, 67_000, 142_000, 1_142_000, 2_417_000))
    less = chance.choice((0, 0, 300, 1_000_001))
    match chance.randrange(16):
        case 0 | 1 | 2:
            message: messages.Command = messages.Arm(name, on_us, True, cues, less, chance.choice((0, 500_000, 30_000_001)))
        case 3 | 4 | 5:
            message = messages.Arm(name, on_us, False, cues, less, chance.choice((0, 500_000, 2_000_000)))
        case 6:
            message = messages.Arm(chance.choice((0, name)), chance.choice((0, 120_000_001, 2**63)), True)
        case 7 | 8:
            message = messages.Halt()
        case 9:
            message = messages.FocusLight(chance.choice((0, 67_000, 717_000, 600_000_001)))
        case 10:
            message = messages.Hello(chance.choice((2, 2, 1)))
        case 11 | 12:
            message = messages.AskRecord(name)
        case 13:
            message = messages.Safelight(chance.random() < 0.5)
        case 14:
            kind = chance.choice(
                (
                    *messages.COMMANDS - {messages.Halt.TYPE_ID, messages.Dose.TYPE_ID, messages.ReadSensor.TYPE_ID},
                    0x04,
                    0x44,
                    0x90,
                )
            )
            body = chance.randbytes(chance.choice((1, 2, 7, 9, 26, 31, 200)))
            if kind == messages.Safelight.TYPE_ID or (kind == messages.Hello.TYPE_ID and len(body) == 1):
                body += b"\0"
            return Frame(kind, 0, body)
        case _:
            message = messages.Heartbeat()
    return messages.to_frame(message, 0)


def _of(message: messages.Message) -> tuple[Any, ...]:
    """What must be alike to the bit."""
    match message:
        case messages.HelloReply():
            return messages.HelloReply, message.protocol, message.version, message.ceiling_us, message.speed_permille
        case messages.HeartbeatReply():
            return messages.HeartbeatReply, message.state, message.lamp
        case messages.Lit():
            return messages.Lit, message.exposure, message.by_pedal
        case messages.Dark() | messages.ExposureRecord():
            return type(message), message.exposure, message.why, bool(message.off_us), getattr(message, "known", True)
        case messages.Pedal():
            return messages.Pedal, message.press
        case _:
            return (message,)


def _times(message: messages.Message) -> tuple[int, ...]:
    """What may be a little apart."""
    match message:
        case messages.Lit():
            return (message.ordered_us,)
        case messages.Dark() | messages.ExposureRecord() if message.off_us:
            return message.ordered_us, message.off_us - message.on_us
        case _:
            return ()


@pytest.mark.parametrize("seed", range(8))
def test_by_chance(seed: int, tmp_path: Path) -> None:
    chance = random.Random(seed)
    script, python = Script(), _Python(tmp_path)
    python.now_ns = (BEGIN_MS - 500) * 1_000_000
    at_ms, down, number = float(BEGIN_MS), False, 0
    last = _command(chance)
    for _ in range(STEPS):
        at_ms += GRID_MS * chance.choice((1, 1, 1, 2, 5, 14, 45 if chance.random() < 0.1 else 3))
        if chance.random() < 0.25:  # the foot, between the lines of the grid
            down = not down
            foot_ms = at_ms + (CLOSES_MS if down else OPENS_MS)
            python.until(foot_ms * 1000)
            python.core.pedal(down, python.now_ns)
            script.foot(foot_ms * MS, down)
        if chance.random() > 0.1:  # else the same frame once more
            number = number % 0xFFFF + 1
            plain = _command(chance)
            last = Frame(plain.kind, number, plain.body)
        python.until(at_ms * 1000)
        data = encode(last)
        python.core.frame(last)
        script.raw(at_ms * MS - len(data) * BYTE_CYCLES, data)
    python.until((at_ms + 4_000) * 1000)
    python.memory.close()
    story = script.run(at_ms + 4_000)
    ours = [(said.number, said.message) for said in story.said]
    for kind in (messages.Answer, messages.Event):  # a tick and a command may be in the same moment: each in its own order
        mine = [said for said in ours if isinstance(said[1], kind)]
        theirs = [said for said in python.said if isinstance(said[1], kind)]
        for (number, message), (their_number, their) in zip(mine, theirs, strict=False):
            assert (number, _of(message)) == (their_number, _of(their))
            for a, b in zip(_times(message), _times(their), strict=True):
                assert abs(a - b) <= TIME_US, (message, their)
        assert len(mine) == len(theirs)
    assert len(story.lights) > 2
