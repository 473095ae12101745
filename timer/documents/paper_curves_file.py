"""Papers' own curves, read from their file and written."""

from pathlib import Path

import msgspec

from timer.craft.bw_curve import iso_points
from timer.documents.files import MAX_BYTES, edit, is_there, read_text
from timer.documents.folders import folder
from timer.documents.paper_curves import MOST_CURVES, KeptCurve, PaperCurves, curve_named, none_kept
from timer.documents.recipe import GRADES
from timer.documents.toml_io import decode_toml
from timer.errors import LamphouseError


def curves_file() -> Path:
    """Where they are kept."""
    return folder("config") / "paper-curves.toml"


def load_curves(path: Path) -> tuple[KeptCurve, ...]:
    """Those that are kept in ``path``, none when it is not there. LamphouseError in one sentence when it is damaged."""
    return _read(read_text(path), path) if is_there(path) else ()


def _read(text: str, path: Path) -> tuple[KeptCurve, ...]:
    kept = decode_toml(text, PaperCurves, str(path)).curve
    for number, each in enumerate(kept, 1):
        try:
            iso_points(each.curve)
            if each.grade and each.grade not in GRADES:
                raise ValueError(f"{each.grade!r} is no grade; the grades are {', '.join(GRADES)}")
            if any(each.is_of(other.paper, other.grade) for other in kept[: number - 1]):
                raise ValueError("the same paper and grade stands there before")
        except ValueError as error:
            raise LamphouseError(f"{path}: curve {number}, of {each.name}: {error}") from None
    return kept


def keep_curve(path: Path, new: KeptCurve) -> KeptCurve | None:
    """Keep ``new`` in the place of the one of its paper and grade, which is given back. The file is replaced whole, or
    stays as it was."""
    before = load_curves(path)
    old = curve_named(before, new.paper, new.grade)
    if len(before) - (old is not None) >= MOST_CURVES:
        raise LamphouseError(f"{path}: {MOST_CURVES} curves are kept already; forget some (`lamphouse calibrations curve`)")
    _save(path, (*(each for each in before if each != old), new))
    return old


def forget_curves(path: Path, paper: str, grade: str | None) -> list[KeptCurve]:
    """Take away those of ``paper``, of one ``grade`` or of all; which they were. LamphouseError when there is none."""
    before = load_curves(path)
    gone = [each for each in before if each.is_of(paper, grade)]
    if not gone:
        raise LamphouseError(none_kept(before, paper, grade))
    _save(path, tuple(each for each in before if each not in gone))
    return gone


def _save(path: Path, curves: tuple[KeptCurve, ...]) -> None:
    import tomli_w  # only what writes needs it

    text = tomli_w.dumps(msgspec.to_builtins(PaperCurves(curves)))
    if len(text.encode()) > MAX_BYTES:
        raise LamphouseError(f"{path}: it would be too long; forget some curves (`lamphouse calibrations curve`)")
    _read(text, path)  # what could not be read again is not written
    edit(path, text.encode())
