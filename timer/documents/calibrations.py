"""What the printer has measured and wants used again: heads that differ from the print-size formula, and new boxes of
paper; and since when what sheets have taught is forgotten."""

from dataclasses import dataclass
from typing import Annotated

from msgspec import Meta, Struct

from timer.craft.filters import Pack, parse_pack
from timer.errors import LamphouseError


@dataclass(frozen=True)
class Box:
    """A new box against the old one, by the standard negative: measured ``time`` ratio, with its change of ``pack``."""

    name: str
    time: float
    pack: Pack


class HeadMeasured(Struct, frozen=True, forbid_unknown_fields=True):
    """``exponent`` of the print-size formula; 1 is diffused light."""

    exponent: Annotated[float, Meta(ge=0.3, le=2)]
    note: str = ""


class BoxMeasured(Struct, frozen=True, forbid_unknown_fields=True):
    """Time ratio and pack change of a new box against the old one, measured together on the standard negative."""

    time: Annotated[float, Meta(gt=0.1, lt=10)]
    pack: str = "0"


class Corrections(Struct, frozen=True, forbid_unknown_fields=True):
    """The file's heads and boxes, by the names that the printer gave them. ``forgotten``: times, by head and paper; what
    sheets until then have taught of them counts no more."""

    heads: dict[str, HeadMeasured] = {}
    boxes: dict[str, BoxMeasured] = {}
    forgotten: dict[str, str] = {}


def head_exponent(corrections: Corrections, name: str) -> float:
    """The measured exponent of head ``name``; LamphouseError when it was never measured."""
    if name not in corrections.heads:
        known = ", ".join(sorted(corrections.heads)) or "none yet"
        raise LamphouseError(f"head {name!r} was not measured; measured are: {known} (`lamphouse calibrations head --help`)")
    return corrections.heads[name].exponent


def box_named(corrections: Corrections, name: str) -> Box:
    """The box that was measured as ``name``; LamphouseError when none was, or its pack is no good."""
    if name not in corrections.boxes:
        known = ", ".join(sorted(corrections.boxes)) or "none yet"
        raise LamphouseError(f"box {name!r} was not measured; measured are: {known} (`lamphouse calibrations box --help`)")
    box = corrections.boxes[name]
    try:
        return Box(name, box.time, parse_pack(box.pack))
    except ValueError as error:
        raise LamphouseError(f"box {name!r}: {error}") from None
