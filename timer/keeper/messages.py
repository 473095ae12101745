"""What host and keeper say to each other: one frozen dataclass a message (docs/protocol.md, "Messages").

All times on the link are whole microseconds of the keeper's clock. Little-endian, no padding.
"""

import struct
from dataclasses import astuple, dataclass
from enum import IntEnum
from typing import ClassVar

from timer.keeper.link import Frame

PROTOCOL = 1


class Cue(IntEnum):
    TICK = 0
    WARN = 1
    CHANGE = 2
    END = 3


class State(IntEnum):
    """What the keeper is doing. FAULT is sticky: no light until the keeper is started anew."""

    IDLE = 0
    ARMED = 1
    LIT = 2
    VIEWING = 3
    FAULT = 4


class Why(IntEnum):
    """Why the lamp went dark."""

    COMPLETE = 0
    HALTED = 1
    PEDAL = 2
    HOST_SILENT = 3
    LINK_CLOSED = 4
    SIGNAL = 5
    FAULT = 6
    KEEPER_LOST = 7  # said by the host only: the keeper itself is gone
    TIME_UP = 8  # the end of a focus light
    CEILING = 9  # a dose that was not reached in its longest time


class No(IntEnum):
    """Why a command was refused."""

    NOT_KNOWN = 1
    OVER_CEILING = 2
    BUSY = 3
    ALREADY_GIVEN = 4
    FAULT = 5
    BAD_BODY = 6
    WRONG_PROTOCOL = 7


class Press(IntEnum):
    DOWN = 1
    HOLD = 2


@dataclass(frozen=True)
class Hello:
    KIND: ClassVar[int] = 0x01
    FORM: ClassVar[struct.Struct] = struct.Struct("<B")
    protocol: int = PROTOCOL


@dataclass(frozen=True)
class Beat:
    KIND: ClassVar[int] = 0x02
    FORM: ClassVar[struct.Struct] = struct.Struct("<")


@dataclass(frozen=True)
class Arm:
    """An exposure: lamp-on time, and the cues in it (at µs, Cue). With ``now`` it starts at once, else at a press."""

    KIND: ClassVar[int] = 0x03
    FORM: ClassVar[struct.Struct] = struct.Struct("<QQBB")
    CUE: ClassVar[struct.Struct] = struct.Struct("<IB")
    exposure: int
    on_us: int
    now: bool
    cues: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class Halt:
    """Lamp off, disarm, focus light off: dark now, whatever it was."""

    KIND: ClassVar[int] = 0x05
    FORM: ClassVar[struct.Struct] = struct.Struct("<")


@dataclass(frozen=True)
class View:
    """Focus light for ``limit_us``; 0 ends it."""

    KIND: ClassVar[int] = 0x06
    FORM: ClassVar[struct.Struct] = struct.Struct("<Q")
    limit_us: int


@dataclass(frozen=True)
class Safelight:
    KIND: ClassVar[int] = 0x07
    FORM: ClassVar[struct.Struct] = struct.Struct("<?")
    on: bool


@dataclass(frozen=True)
class Tally:
    """Ask what the keeper remembers of ``exposure``."""

    KIND: ClassVar[int] = 0x08
    FORM: ClassVar[struct.Struct] = struct.Struct("<Q")
    exposure: int


@dataclass(frozen=True)
class Dose:
    """An exposure by light: until the sensor has counted ``target``, by whole half-cycles of mains, ``on_us`` at most."""

    KIND: ClassVar[int] = 0x09
    FORM: ClassVar[struct.Struct] = struct.Struct("<QIQHBB")
    exposure: int
    target: int
    on_us: int
    half_us: int
    now: bool
    cues: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class Sense:
    """Ask what the light sensor reads now."""

    KIND: ClassVar[int] = 0x0A
    FORM: ClassVar[struct.Struct] = struct.Struct("<")


@dataclass(frozen=True)
class HelloIs:
    KIND: ClassVar[int] = 0x81
    FORM: ClassVar[struct.Struct] = struct.Struct("<BHQQII")
    protocol: int
    version: int
    now_us: int
    ceiling_us: int
    speed: int  # lamp microseconds a real one, in thousandths: 1000 but for a time-lapse
    process: int


@dataclass(frozen=True)
class Done:
    KIND: ClassVar[int] = 0x82
    FORM: ClassVar[struct.Struct] = struct.Struct("<")


@dataclass(frozen=True)
class Refusal:
    KIND: ClassVar[int] = 0x83
    FORM: ClassVar[struct.Struct] = struct.Struct("<B")
    reason: int


@dataclass(frozen=True)
class Alive:
    """The answer to a beat."""

    KIND: ClassVar[int] = 0x84
    FORM: ClassVar[struct.Struct] = struct.Struct("<B?Q")
    state: int
    lamp: bool
    now_us: int


@dataclass(frozen=True)
class Lit:
    KIND: ClassVar[int] = 0x85
    FORM: ClassVar[struct.Struct] = struct.Struct("<QQ?")
    exposure: int
    at_us: int
    by_pedal: bool


@dataclass(frozen=True)
class Dark:
    KIND: ClassVar[int] = 0x86
    FORM: ClassVar[struct.Struct] = struct.Struct("<QQQQB")
    exposure: int
    ordered_us: int
    on_us: int
    off_us: int
    why: int


@dataclass(frozen=True)
class CueNow:
    KIND: ClassVar[int] = 0x87
    FORM: ClassVar[struct.Struct] = struct.Struct("<QQB")
    exposure: int
    at_us: int
    cue: int


@dataclass(frozen=True)
class Pedal:
    KIND: ClassVar[int] = 0x88
    FORM: ClassVar[struct.Struct] = struct.Struct("<BQ")
    press: int
    at_us: int


@dataclass(frozen=True)
class Viewing:
    """The focus light went on, has ``left_us`` to go (a warning), or went off (0)."""

    KIND: ClassVar[int] = 0x89
    FORM: ClassVar[struct.Struct] = struct.Struct("<QB")
    left_us: int
    why: int


@dataclass(frozen=True)
class TallyIs:
    """What is remembered: ``known`` false means this exposure never began here. ``off_us`` 0: still lit."""

    KIND: ClassVar[int] = 0x8A
    FORM: ClassVar[struct.Struct] = struct.Struct("<?QQQQB")
    known: bool
    exposure: int
    ordered_us: int
    on_us: int
    off_us: int
    why: int


@dataclass(frozen=True)
class Fault:
    """Words for a fault, UTF-8; the keeper gives no light after it."""

    KIND: ClassVar[int] = 0x8B
    FORM: ClassVar[struct.Struct] = struct.Struct("<")
    text: str


@dataclass(frozen=True)
class DoseIs:
    """After Dark, from a keeper with a light sensor: what it counted while the lamp was on."""

    KIND: ClassVar[int] = 0x8C
    FORM: ClassVar[struct.Struct] = struct.Struct("<QI")
    exposure: int
    counts: int


@dataclass(frozen=True)
class SenseIs:
    """Of 1023, full scale."""

    KIND: ClassVar[int] = 0x8D
    FORM: ClassVar[struct.Struct] = struct.Struct("<H")
    value: int


Command = Hello | Beat | Arm | Dose | Halt | View | Safelight | Tally | Sense
Answer = HelloIs | Done | Refusal | Alive | TallyIs | SenseIs
Event = Lit | Dark | DoseIs | CueNow | Pedal | Viewing | Fault
Message = Command | Answer | Event

_KINDS: dict[int, type[Message]] = {
    kind.KIND: kind
    for kind in (
        Hello, Beat, Arm, Dose, Halt, View, Safelight, Tally, Sense, HelloIs, Done, Refusal, Alive, Lit, Dark, DoseIs,
        CueNow, Pedal, Viewing, TallyIs, SenseIs, Fault,
    )
}  # fmt: skip
COMMANDS = frozenset(kind.KIND for kind in (Hello, Beat, Arm, Dose, Halt, View, Safelight, Tally, Sense))
MOST_CUES = 45


def to_frame(message: Message, number: int) -> Frame:
    """``message`` as a frame; struct.error or ValueError when a value does not fit its field."""
    match message:
        case Arm(exposure, on_us, now, cues):
            body = Arm.FORM.pack(exposure, on_us, int(now), len(cues)) + _packed(cues)
        case Dose(exposure, target, on_us, half_us, now, cues):
            body = Dose.FORM.pack(exposure, target, on_us, half_us, int(now), len(cues)) + _packed(cues)
        case Fault(text):
            body = text.encode()[:200]
        case _:
            body = message.FORM.pack(*astuple(message))
    return Frame(message.KIND, number, body)


def _packed(cues: tuple[tuple[int, int], ...]) -> bytes:
    if len(cues) > MOST_CUES:
        raise ValueError(f"{len(cues)} cues in one exposure; the link carries {MOST_CUES}")
    return b"".join(Arm.CUE.pack(at, cue) for at, cue in cues)


def from_frame(frame: Frame) -> Message | None:
    """The message in ``frame``; None for an unknown kind or a body that does not have its form."""
    kind = _KINDS.get(frame.kind)
    if kind is None:
        return None
    if kind is Fault:
        return Fault(frame.body.decode(errors="replace"))
    if kind is Arm or kind is Dose:
        return _with_cues(kind, frame.body)
    if len(frame.body) != kind.FORM.size:
        return None
    return kind(*kind.FORM.unpack(frame.body))


def _with_cues(kind: type[Arm] | type[Dose], body: bytes) -> Arm | Dose | None:
    """Both end in: now u8, count u8, and so many cues."""
    if len(body) < kind.FORM.size:
        return None
    *values, now, count = kind.FORM.unpack_from(body)
    rest = body[kind.FORM.size :]
    if len(rest) != count * Arm.CUE.size or now > 1:
        return None
    cues = tuple(Arm.CUE.iter_unpack(rest))
    if kind is Arm:
        return Arm(values[0], values[1], bool(now), cues)
    return Dose(values[0], values[1], values[2], values[3], bool(now), cues)
