"""What host and keeper say to each other: one frozen dataclass a message (docs/protocol.md, "Messages").

All times on the link are whole microseconds of the keeper's clock. Little-endian, no padding.
"""

import struct
from dataclasses import astuple, dataclass
from enum import IntEnum
from typing import ClassVar

from timer.keeper.wire.frames import Frame

PROTOCOL = 2


class Cue(IntEnum):
    """What is to be heard: a second, a change that is near, the change, the end of light."""

    TICK = 0
    WARN = 1
    CHANGE = 2
    END = 3


class State(IntEnum):
    """What the keeper is doing. FAULT is sticky: no light until the keeper is started anew."""

    IDLE = 0
    ARMED = 1
    LIT = 2
    FOCUS = 3
    FAULT = 4


class EndReason(IntEnum):
    """Why the lamp went dark, or an armed exposure was dropped."""

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
    LATE = 10  # it ran past its end: the keeper was held up


class RefusalReason(IntEnum):
    """Why a command was refused."""

    NOT_KNOWN = 1
    OVER_CEILING = 2
    BUSY = 3
    ALREADY_GIVEN = 4
    FAULT = 5
    BAD_BODY = 6
    WRONG_PROTOCOL = 7
    TOO_HOT = 8  # the focus light has been on for as long as is safe for lamp and negative; it must rest


class Press(IntEnum):
    """What the footswitch did: went down, or was held for the set time."""

    DOWN = 1
    HOLD = 2


# ── commands ─────────────────────────────────────────────────────────────────


@dataclass(frozen=True)
class Hello:
    """The first command on a link: which protocol the host speaks."""

    TYPE_ID: ClassVar[int] = 0x01
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<B")
    protocol: int = PROTOCOL


@dataclass(frozen=True)
class Heartbeat:
    """The host is there; a keeper that hears none for its silence goes dark."""

    TYPE_ID: ClassVar[int] = 0x02
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<")


@dataclass(frozen=True)
class Arm:
    """An exposure: lamp-on time, and the cues in it (at µs, Cue). With ``now`` it starts at once, else at a press.

    ``on_us`` is for a cold lamp. One that was on not long ago is given less, up to ``less_us``, by how long it has rested
    (docs/protocol.md, "Warm lamps"): only the keeper knows that when the press comes.
    """

    TYPE_ID: ClassVar[int] = 0x03
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<QQIIBB")
    CUE: ClassVar[struct.Struct] = struct.Struct("<IB")
    exposure: int
    on_us: int
    now: bool
    cues: tuple[tuple[int, int], ...] = ()
    less_us: int = 0
    recovery_us: int = 0


@dataclass(frozen=True)
class Halt:
    """Lamp off, disarm, focus light off: dark now, whatever it was."""

    TYPE_ID: ClassVar[int] = 0x05
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<")


@dataclass(frozen=True)
class FocusLight:
    """Focus light for ``limit_us``; 0 ends it."""

    TYPE_ID: ClassVar[int] = 0x06
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<Q")
    limit_us: int


@dataclass(frozen=True)
class Safelight:
    """Switch the safelight."""

    TYPE_ID: ClassVar[int] = 0x07
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<?")
    on: bool


@dataclass(frozen=True)
class AskRecord:
    """Ask what the keeper remembers of ``exposure``."""

    TYPE_ID: ClassVar[int] = 0x08
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<Q")
    exposure: int


@dataclass(frozen=True)
class Dose:
    """An exposure by light: until the sensor has counted ``target``, by whole half-cycles of mains, ``on_us`` at most."""

    TYPE_ID: ClassVar[int] = 0x09
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<QIQHBB")
    exposure: int
    target: int
    on_us: int
    mains_half_cycle_us: int
    now: bool
    cues: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class ReadSensor:
    """Ask what the light sensor reads now."""

    TYPE_ID: ClassVar[int] = 0x0A
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<")


# ── answers ──────────────────────────────────────────────────────────────────


@dataclass(frozen=True)
class HelloReply:
    """Who answers: its firmware's version, its clock and its ceiling (µs)."""

    TYPE_ID: ClassVar[int] = 0x81
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<BHQQIII")
    protocol: int
    version: int
    now_us: int
    ceiling_us: int
    speed_permille: int  # lamp microseconds a thousand real ones: 1000 but for a time-lapse
    process: int  # of the local keeper; 0 on a microcontroller
    guard: int  # the process beside it that ends its light should it die or hang; 0: none


@dataclass(frozen=True)
class Done:
    """The command was carried out."""

    TYPE_ID: ClassVar[int] = 0x82
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<")


@dataclass(frozen=True)
class Refusal:
    """The command was not carried out; ``reason`` is a RefusalReason."""

    TYPE_ID: ClassVar[int] = 0x83
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<B")
    reason: int


@dataclass(frozen=True)
class HeartbeatReply:
    """What the keeper is doing (State), whether its lamp is lit, and its clock (µs)."""

    TYPE_ID: ClassVar[int] = 0x84
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<B?QH")
    state: int
    lamp: bool
    now_us: int
    events: int  # the number of the last event sent: one that is missing shows here even if nothing follows it


@dataclass(frozen=True)
class ExposureRecord:
    """What is remembered: ``known`` false means this exposure never began here. ``off_us`` 0: still lit.

    ``ordered_us`` as in Lit. ``counts``: of the light sensor, while the lamp was on.
    """

    TYPE_ID: ClassVar[int] = 0x8A
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<?QQQQBI")
    known: bool
    exposure: int
    ordered_us: int
    on_us: int
    off_us: int
    why: int
    counts: int


@dataclass(frozen=True)
class SensorReading:
    """Of 1023, full scale."""

    TYPE_ID: ClassVar[int] = 0x8D
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<H")
    value: int


# ── events ───────────────────────────────────────────────────────────────────


@dataclass(frozen=True)
class Lit:
    """``ordered_us`` is the lamp-on time that this start will have: what was ordered, less what a warm lamp is spared."""

    TYPE_ID: ClassVar[int] = 0x85
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<QQQ?")
    exposure: int
    at_us: int
    ordered_us: int
    by_pedal: bool


@dataclass(frozen=True)
class Dark:
    """All that is known of a light that has ended, in one message: its dose is in it, so neither can be lost alone."""

    TYPE_ID: ClassVar[int] = 0x86
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<QQQQBI")
    exposure: int
    ordered_us: int
    on_us: int
    off_us: int
    why: int
    counts: int


@dataclass(frozen=True)
class CueEvent:
    """A cue of ``exposure`` has come, ``at_us`` after its light began."""

    TYPE_ID: ClassVar[int] = 0x87
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<QQB")
    exposure: int
    at_us: int
    cue: int


@dataclass(frozen=True)
class Pedal:
    """The footswitch was used, by the keeper's clock (µs); ``press`` is a Press."""

    TYPE_ID: ClassVar[int] = 0x88
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<BQ")
    press: int
    at_us: int


@dataclass(frozen=True)
class FocusLightChanged:
    """The focus light went on, has ``left_us`` to go (a warning), or went off (0)."""

    TYPE_ID: ClassVar[int] = 0x89
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<QB")
    left_us: int
    why: int


@dataclass(frozen=True)
class Fault:
    """Words for a fault, UTF-8; the keeper gives no light after it."""

    TYPE_ID: ClassVar[int] = 0x8B
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<")
    text: str


@dataclass(frozen=True)
class Disarmed:
    """An armed exposure was dropped by the keeper itself, without light: its host was silent, or the pedal was held."""

    TYPE_ID: ClassVar[int] = 0x8E
    LAYOUT: ClassVar[struct.Struct] = struct.Struct("<QB")
    exposure: int
    why: int


Command = Hello | Heartbeat | Arm | Dose | Halt | FocusLight | Safelight | AskRecord | ReadSensor
Answer = HelloReply | Done | Refusal | HeartbeatReply | ExposureRecord | SensorReading
Event = Lit | Dark | CueEvent | Pedal | FocusLightChanged | Fault | Disarmed
Message = Command | Answer | Event

_COMMANDS: tuple[type[Command], ...] = (
    Hello,
    Heartbeat,
    Arm,
    Dose,
    Halt,
    FocusLight,
    Safelight,
    AskRecord,
    ReadSensor,
)
_FROM_KEEPER: tuple[type[Answer | Event], ...] = (
    HelloReply, Done, Refusal, HeartbeatReply, ExposureRecord, SensorReading,
    Lit, Dark, CueEvent, Pedal, FocusLightChanged, Fault, Disarmed,
)  # fmt: skip
KINDS: dict[int, type[Message]] = {kind.TYPE_ID: kind for kind in (*_COMMANDS, *_FROM_KEEPER)}
"""Every message by its type on the link."""
COMMANDS = frozenset(kind.TYPE_ID for kind in _COMMANDS)
MAX_CUES = 40


def to_frame(message: Message, number: int) -> Frame:
    """``message`` as a frame; struct.error or ValueError when a value does not fit its field."""
    match message:
        case Arm(exposure, on_us, now, cues, less_us, recovery_us):
            body = Arm.LAYOUT.pack(exposure, on_us, less_us, recovery_us, int(now), len(cues)) + _packed(cues)
        case Dose(exposure, target, on_us, half_cycle_us, now, cues):
            body = Dose.LAYOUT.pack(exposure, target, on_us, half_cycle_us, int(now), len(cues)) + _packed(cues)
        case Fault(text):
            body = text.encode(errors="replace")[:200]
        case _:
            body = message.LAYOUT.pack(*astuple(message))
    return Frame(message.TYPE_ID, number, body)


def _packed(cues: tuple[tuple[int, int], ...]) -> bytes:
    if len(cues) > MAX_CUES:
        raise ValueError(f"{len(cues)} cues in one exposure; the link carries {MAX_CUES}")
    return b"".join(Arm.CUE.pack(at, cue) for at, cue in cues)


def from_frame(frame: Frame) -> Message | None:
    """The message in ``frame``; None for an unknown type or a body that does not have its layout."""
    kind = KINDS.get(frame.kind)
    if kind is None:
        return None
    if kind is Fault:
        return Fault(frame.body.decode(errors="replace"))
    if kind is Arm or kind is Dose:
        return _with_cues(kind, frame.body)
    if len(frame.body) != kind.LAYOUT.size:
        return None
    return kind(*kind.LAYOUT.unpack(frame.body))


def _with_cues(kind: type[Arm] | type[Dose], body: bytes) -> Arm | Dose | None:
    """Both end in: now u8, count u8, and so many cues."""
    if len(body) < kind.LAYOUT.size:
        return None
    *values, now, count = kind.LAYOUT.unpack_from(body)
    rest = body[kind.LAYOUT.size :]
    if len(rest) != count * Arm.CUE.size or now > 1 or count > MAX_CUES:
        return None
    cues = tuple(Arm.CUE.iter_unpack(rest))
    if kind is Arm:
        exposure, on_us, less_us, recovery_us = values
        return Arm(exposure, on_us, bool(now), cues, less_us, recovery_us)
    exposure, target, on_us, half_cycle_us = values
    return Dose(exposure, target, on_us, half_cycle_us, bool(now), cues)
