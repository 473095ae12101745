"""The curves of the printer's own papers that are kept: one of each paper and grade, in a file of their own."""

from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta, Struct

from timer.craft.bw_curve import MOST, PaperCurve, iso_points
from timer.documents.files import MAX_BYTES, edit, is_there, read_text
from timer.documents.recipe import GRADES
from timer.documents.settings import folder
from timer.documents.toml_io import decode_toml
from timer.errors import LamphouseError

Name = Annotated[str, Meta(min_length=1, max_length=60)]
Numbers = Annotated[tuple[float, ...], Meta(min_length=2, max_length=MOST)]
MOST_CURVES = 100


class KeptCurve(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A curve of ``paper`` through contrast filter ``grade`` (empty: none in).

    Exposures are log10 of lux seconds with ``lux``, else of seconds in the ``set_up`` that it was measured in (negative,
    size, aperture; empty: not said). ``sheets``: those it was read from; ``error``: of one reading.
    """

    paper: Name
    log_exposure: Numbers
    density: Numbers
    base: Annotated[float, Meta(ge=0, le=2)]
    darkest: Annotated[float, Meta(gt=0, le=5)]
    grade: str = ""
    lux: bool = False
    set_up: Annotated[str, Meta(max_length=200)] = ""
    sheets: Annotated[tuple[int, ...], Meta(max_length=64)] = ()
    read_on: Annotated[str, Meta(max_length=40)] = ""
    error: Annotated[float, Meta(gt=0, le=1)] = 0.02

    @property
    def curve(self) -> PaperCurve:
        """The curve in numbers; ValueError when they are none."""
        return PaperCurve(self.log_exposure, self.density, self.base, self.darkest)

    def is_of(self, paper: str, grade: str | None) -> bool:
        """Whether it is of ``paper``, small and capital letters alike, and of ``grade`` (None: of any)."""
        return self.paper.casefold() == paper.casefold() and grade in (None, self.grade)

    @property
    def name(self) -> str:
        """Like ``Baryta, grade 2``."""
        return f"{self.paper}, grade {self.grade}" if self.grade else self.paper


class PaperCurves(Struct, frozen=True, forbid_unknown_fields=True):
    """What the file holds."""

    curve: Annotated[tuple[KeptCurve, ...], Meta(max_length=MOST_CURVES)] = ()


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


def curve_named(curves: tuple[KeptCurve, ...], paper: str, grade: str) -> KeptCurve | None:
    """That of ``paper`` (small and capital letters alike) and ``grade``; None when there is none."""
    return next((each for each in curves if each.is_of(paper, grade)), None)


def none_kept(curves: tuple[KeptCurve, ...], paper: str, grade: str | None = None) -> str:
    """A sentence that there is no curve of ``paper``, and of which there are."""
    known = "; ".join(each.name for each in curves) or "none yet"
    wanted = f"{paper!r}" + (f", grade {grade}" if grade else "")
    return f"no curve of paper {wanted} is kept; kept are: {known} (`lamphouse paper-curve --help`)"


def comparable(one: KeptCurve, other: KeptCurve) -> bool:
    """Whether their exposures are of one unit: lux seconds, or seconds in one set-up."""
    return one.lux == other.lux and (one.lux or (bool(one.set_up) and one.set_up == other.set_up))


def _save(path: Path, curves: tuple[KeptCurve, ...]) -> None:
    import tomli_w  # only what writes needs it

    text = tomli_w.dumps(msgspec.to_builtins(PaperCurves(curves)))
    if len(text.encode()) > MAX_BYTES:
        raise LamphouseError(f"{path}: it would be too long; forget some curves (`lamphouse calibrations curve`)")
    _read(text, path)  # what could not be read again is not written
    edit(path, text.encode())
