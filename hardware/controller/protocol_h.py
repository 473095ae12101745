"""Writes protocol.h: what C and Python must agree on, taken from the Python side, where it is kept.

    python hardware/controller/protocol_h.py > hardware/controller/protocol.h

The header is committed, so that the firmware needs no Python to be built; tests/hil/test_protocol_header.py fails when it
is stale.
"""

import re
from collections.abc import Iterator
from dataclasses import fields
from enum import IntEnum

from timer.keeper.config import Config
from timer.keeper.host.controller import CONTROLLER_VERSION
from timer.keeper.host.serial_port import BAUD
from timer.keeper.local import footswitch, rules, warmth
from timer.keeper.wire import frames, messages

CONSTANTS = {
    "PROTOCOL": messages.PROTOCOL,
    "FIRMWARE_VERSION": CONTROLLER_VERSION,
    "BAUD_RATE": BAUD,
    "MAX_FRAME": frames.MAX_BYTES,
    "MAX_CUES": messages.MAX_CUES,
    "CEILING_US": Config.ceiling_us,
    "SILENCE_US": rules.SILENCE_NS // 1000,
    "LATE_US": rules.LATE_NS // 1000,
    "MAX_FOCUS_US": rules.MAX_FOCUS_US,
    "FOCUS_WARN_US": rules.FOCUS_WARN_US,
    "SECOND_US": rules.SECOND_US,
    "NEAR_CUE_US": rules.NEAR_CUE_US,
    "FOOT_CLOSED_US": footswitch.CLOSED_US,
    "FOOT_AGAIN_US": footswitch.AGAIN_US,
    "FOOT_BLANK_US": footswitch.BLANK_US,
    "FOOT_BOUNCE_US": footswitch.BOUNCE_US,
    "FOOT_HOLD_US": Config.hold_us,
    "MAX_LESS_US": warmth.MAX_LESS_US,
    "MAX_RECOVERY_US": warmth.MAX_RECOVERY_US,
    "MIN_REST_US": warmth.MIN_REST_US,
}
ENUMS: dict[str, type[IntEnum]] = {
    "STATE": messages.State,
    "CUE": messages.Cue,
    "WHY": messages.EndReason,
    "REFUSED": messages.RefusalReason,
    "PRESS": messages.Press,
}
C_TYPES = {"?": "uint8_t", "B": "uint8_t", "H": "uint16_t", "I": "uint32_t", "Q": "uint64_t"}
# Those that end in cues are packed by hand in messages.py: what their layouts hold, in its order.
WITH_CUES = {
    messages.Arm: ("exposure", "on_us", "less_us", "recovery_us", "now", "cues"),
    messages.Dose: ("exposure", "target", "on_us", "mains_half_cycle_us", "now", "cues"),
}


def header() -> str:
    """The whole text of protocol.h."""
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    yield "/* Made by protocol_h.py from timer/keeper: do not edit. docs/protocol.md is the same in words. */"
    yield "#pragma once"
    yield "#include <stdint.h>"
    yield ""
    yield from (f"#define {name} {value}{'UL' if value > 0x7FFF else ''}" for name, value in CONSTANTS.items())
    yield ""
    kinds = sorted(messages.KINDS.values(), key=lambda kind: kind.TYPE_ID)
    yield "enum {"
    yield from (f"    MSG_{_snake(kind.__name__).upper()} = 0x{kind.TYPE_ID:02X}," for kind in kinds)
    yield "};"
    for prefix, enum in ENUMS.items():
        yield "enum { " + ", ".join(f"{prefix}_{member.name} = {member.value}" for member in enum) + " };"
    for kind in kinds:
        codes = kind.LAYOUT.format.lstrip("<")
        if codes:
            names = WITH_CUES.get(kind) or tuple(field.name for field in fields(kind))
            yield from _struct(kind.__name__, names, codes, kind.LAYOUT.size)
    yield from _struct("Cue", ("at_us", "cue"), messages.Arm.CUE.format.lstrip("<"), messages.Arm.CUE.size)


def _struct(name: str, names: tuple[str, ...], codes: str, size: int) -> Iterator[str]:
    c_name = f"{_snake(name)}_t"
    yield ""
    yield "typedef struct __attribute__((packed)) {"
    yield from (f"    {C_TYPES[code]} {field};" for field, code in zip(names, codes, strict=True))
    yield f"}} {c_name};"
    yield f'_Static_assert(sizeof({c_name}) == {size}, "{name}");'


def _snake(name: str) -> str:
    return re.sub(r"(?<=[a-z])(?=[A-Z])", "_", name).lower()


if __name__ == "__main__":
    print(header(), end="")
