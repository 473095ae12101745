"""What the printer has measured of heads and boxes, read from its file and written."""

from datetime import datetime
from pathlib import Path

import msgspec

from timer.documents.calibrations import Corrections
from timer.documents.files import edit, is_there, read_text
from timer.documents.folders import folder
from timer.documents.toml_io import decode_toml
from timer.errors import LamphouseError


def corrections_file() -> Path:
    """Where they are kept."""
    return folder("config") / "corrections.toml"


def forgotten_since() -> dict[str, str]:
    """The times of ``Corrections.forgotten``. LamphouseError when the file cannot be read."""
    return load_corrections(corrections_file()).forgotten


def load_corrections(path: Path) -> Corrections:
    """What is kept in ``path``, nothing when it is not there. LamphouseError when it cannot be read."""
    return _parsed(read_text(path), path) if is_there(path) else Corrections()


def _parsed(text: str, path: Path) -> Corrections:
    kept = decode_toml(text, Corrections, str(path))
    for name, time in kept.forgotten.items():
        try:
            with_zone = datetime.fromisoformat(time).tzinfo is not None
        except ValueError:
            with_zone = False
        if not with_zone:
            raise LamphouseError(f"{path}: forgotten {name!r}: {time!r} is not a time like 2026-11-30T20:15:00+01:00")
    return kept


def save_corrections(path: Path, corrections: Corrections) -> None:
    """Replace the file whole, or leave it as it was."""
    import tomli_w  # only what writes needs it

    text = tomli_w.dumps(msgspec.to_builtins(corrections))
    _parsed(text, path)  # what could not be read again is not written
    edit(path, text.encode())
