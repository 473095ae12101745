"""A curve of one of the printer's own papers, as it is kept: one of each paper and grade."""

from typing import Annotated

from msgspec import Meta, Struct

from timer.craft.bw_curve import MOST, PaperCurve

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
