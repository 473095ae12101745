"""The shared vectors of the footswitch, and the same made by chance: what Python's rules say is what every keeper does."""

import random
import tomllib
from dataclasses import dataclass
from pathlib import Path

from timer.keeper.local.memory import Memory
from timer.keeper.local.rules import Core
from timer.keeper.wire import messages

BEAT_US = 200_000
EXPOSURE = 77
SECOND_US = 1_000_000


@dataclass(frozen=True)
class Vector:
    """Times in µs: ``foot`` (when, closed), ``comes`` (when, down, held, on or off)."""

    name: str
    foot: tuple[tuple[int, bool], ...]
    comes: tuple[tuple[int, str], ...]
    start: bool = False
    armed: int = 0
    light: int = 0

    @property
    def ends_us(self) -> int:
        """When all that can come of it has come."""
        return max(self.foot[-1][0], self.light, self.foot[-1][0] + self.armed) + SECOND_US


def vectors() -> list[Vector]:
    text = (Path(__file__).parent / "footswitch_vectors.toml").read_text()
    cases = tomllib.loads(text)["case"]
    return [
        Vector(**{**case, "foot": tuple(map(tuple, case["foot"])), "comes": tuple(map(tuple, case["comes"]))})
        for case in cases
    ]


def by_chance(seed: int, edges: int) -> tuple[tuple[int, bool], ...]:
    """Edges of a foot, a worn contact and a noisy cable, far enough from every limit that a microsecond does not matter."""
    chance = random.Random(seed)
    at, down = 0, False
    out: list[tuple[int, bool]] = []
    while len(out) < edges:
        at += round(
            chance.choice((60, 400, 700, 1_400, 8_000, 25_000, 40_000, 150_000, 290_000, 320_000, 900_000))
            * chance.uniform(0.8, 1.0)
        )
        down = not down
        out.append((at, down))
    return tuple(out)


class _Board:
    def __init__(self) -> None:
        self.now_ns = 0
        self.came: list[tuple[int, str]] = []
        self.lit = False

    def lamp(self, on: bool) -> int:
        if on != self.lit:
            self.came.append((self.now_ns // 1000, "on" if on else "off"))
        self.lit = on
        return self.now_ns

    def safelight(self, on: bool) -> None: ...

    def sound(self, cue: int) -> None: ...

    def send(self, message: messages.Message, number: int) -> None:
        if isinstance(message, messages.Pedal):
            self.came.append((message.at_us, "down" if message.press == messages.Press.DOWN else "held"))


def play(vector: Vector, folder: Path) -> list[tuple[int, str]]:
    """What comes of ``vector`` by the formulas in Python."""
    board = _Board()
    begin = 5 * SECOND_US
    board.now_ns = (begin - SECOND_US) * 1000 if not vector.start else begin * 1000
    memory = Memory(folder / "memory")
    core = Core(board, memory, lambda: board.now_ns, board.send, pedal_down=vector.start)
    board.now_ns = begin * 1000
    if vector.light or vector.armed:
        order = messages.Arm(EXPOSURE, vector.light or vector.armed, bool(vector.light))
        core.frame(messages.to_frame(order, 1))
        board.came.clear()
    edges = [(begin + at, down) for at, down in vector.foot]
    beats = [*range(begin, begin + vector.ends_us, BEAT_US)]
    moments = sorted({*(at for at, _ in edges), *beats, begin + vector.ends_us})
    for moment in moments:
        while (due := core.next_due_ns()) is not None and due <= moment * 1000:
            board.now_ns = max(board.now_ns, due)
            core.due()
        board.now_ns = moment * 1000
        for at, down in edges:
            if at == moment:
                core.pedal(down, board.now_ns)
        if moment in beats:
            core.frame(messages.to_frame(messages.Heartbeat(), 0))
    memory.close()
    return [(at - begin, what) for at, what in board.came]
