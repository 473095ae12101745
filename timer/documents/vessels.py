"""The printer's own drums and trays, measured once and kept (``vessels.toml`` beside the settings)."""

from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta, Struct

from timer.craft.enlargement import Size, parse_sheet
from timer.craft.vessels import Drum, Tray, Vessel, check, fit
from timer.documents.files import edit, is_there, read_text
from timer.documents.folders import folder
from timer.documents.toml_io import decode_toml
from timer.errors import LamphouseError

Side = Annotated[float, Meta(gt=0, le=2000)]
Ml = Annotated[float, Meta(gt=0, le=20_000)]


class DrumMeasured(Struct, frozen=True, forbid_unknown_fields=True):
    """Inside, lid on: length and circumference."""

    length_mm: Side
    round_mm: Side
    least_ml: Ml | None = None


class TrayMeasured(Struct, frozen=True, forbid_unknown_fields=True):
    """Its bottom, the two sides in any order."""

    bottom_mm: tuple[Side, Side]
    least_ml: Ml | None = None


class Vessels(Struct, frozen=True, forbid_unknown_fields=True):
    """The file: drums and trays by name."""

    drums: dict[str, DrumMeasured] = {}
    trays: dict[str, TrayMeasured] = {}


def vessels_file() -> Path:
    """Where it is kept; it need not be there yet."""
    return folder("config") / "vessels.toml"


def load_vessels(path: Path | None = None) -> dict[str, Vessel]:
    """By name. LamphouseError with one sentence for a file that is no good."""
    path = path or vessels_file()
    if not is_there(path):
        return {}
    kept = decode_toml(read_text(path), Vessels, str(path))
    both = sorted(set(kept.drums) & set(kept.trays))
    if both:
        raise LamphouseError(f"{path}: {both[0]!r} is a drum and a tray; give each a name of its own")
    found: dict[str, Vessel] = {name: Drum(name, d.length_mm, d.round_mm, d.least_ml) for name, d in kept.drums.items()}
    found |= {name: Tray(name, min(t.bottom_mm), max(t.bottom_mm), t.least_ml) for name, t in kept.trays.items()}
    try:
        for vessel in found.values():
            check(vessel)
    except ValueError as error:
        raise LamphouseError(f"{path}: {error}") from None
    return found


def keep_vessel(vessel: Vessel) -> None:
    """Add ``vessel`` to the file, or put it in the place of the one of its name."""
    kept = load_vessels()
    kept[vessel.name] = vessel
    _write(kept)


def drop_vessel(name: str) -> None:
    """Take ``name`` out of the file; LamphouseError when it is not in it."""
    kept = load_vessels()
    vessel_named(name, kept)
    _write({other: vessel for other, vessel in kept.items() if other != name})


def _write(kept: dict[str, Vessel]) -> None:
    import tomli_w  # only what writes needs it

    drums = {v.name: DrumMeasured(v.length, v.round, v.least) for v in kept.values() if isinstance(v, Drum)}
    trays = {v.name: TrayMeasured((v.short, v.long), v.least) for v in kept.values() if isinstance(v, Tray)}
    data = msgspec.to_builtins(Vessels(drums, trays))
    for each in (*data["drums"].values(), *data["trays"].values()):
        if each["least_ml"] is None:
            del each["least_ml"]
    edit(vessels_file(), tomli_w.dumps(data).encode())


def vessel_named(name: str, kept: dict[str, Vessel]) -> Vessel:
    """The one of ``kept`` with this ``name``; LamphouseError when there is none."""
    if name not in kept:
        known = ", ".join(sorted(kept)) or "none yet"
        raise LamphouseError(f"no vessel {name!r} is measured; measured are: {known} (`lamphouse vessel --help`)")
    return kept[name]


def too_large(sheet: str, kept: dict[str, Vessel]) -> str:
    """A sentence when a sheet like ``12x16in`` fits into none of the vessels that are measured, else nothing."""
    if not sheet or not kept:
        return ""
    size: Size = parse_sheet(sheet)
    if any(fit(vessel, size).count for vessel in kept.values()):
        return ""
    known = ", ".join(sorted(kept))
    return f"a sheet of {sheet} fits into no drum or tray of yours ({known}); find a larger one before you cut paper"
