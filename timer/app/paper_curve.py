"""A black-and-white paper's own curve: measured from sheets of the notebook, kept by its paper and grade, and drawn.

What is imported within a function is for the start-up time: few who measure draw it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from timer.app.notebooks import existing
from timer.craft.bw_curve import IsoPoints, PaperCurve, errors, iso_points, rounded_p, rounded_r
from timer.documents.files import must_be_free, read_text, write_new
from timer.documents.measured_file import read_samples
from timer.documents.paper_curves import KeptCurve, comparable
from timer.documents.paper_curves_file import curves_file, keep_curve, load_curves
from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError, Refused
from timer.measure.bw_sheet import BwSheet, Point, bw_sheet, curve_of, density_of
from timer.notebook import to_read
from timer.notebook.readings import readings
from timer.notebook.store import Notebook


@dataclass(frozen=True)
class Asked:
    """What is said of the sheets that they do not say, or not so: ``paper``, ``grade`` (None: as they have it) and
    ``set_up``; densities of an edge without light (``base``) and of one with all of it (``black``); ``lux`` on the paper.

    ``printed``: they are prints of a step tablet of these densities, by the names of its steps.
    """

    paper: str = ""
    grade: str | None = None
    base: float | None = None
    black: float | None = None
    lux: float | None = None
    set_up: str = ""
    printed: Mapping[str, float] | None = None


@dataclass(frozen=True)
class Measured:
    """What was found, as it would be ``kept``; ``r_net``: R without the base, None where it has none.

    ``others``: the curves that are kept beside it; ``instead_of``: the one in whose place it is kept now.
    """

    kept: KeptCurve
    curve: PaperCurve
    iso: IsoPoints
    points: tuple[Point, ...]
    errors: tuple[float, float]
    r_net: float | None
    others: tuple[KeptCurve, ...] = ()
    instead_of: KeptCurve | None = None

    @property
    def title(self) -> str:
        """Paper and grade, and R."""
        return f"{self.kept.name or 'Paper'}: ISO R{rounded_r(self.iso.r)}" + self.speed

    @property
    def speed(self) -> str:
        """P, where the light is known."""
        return f" P{rounded_p(self.iso.p):g}" if self.kept.lux else ""

    def ratios(self) -> list[tuple[str, float]]:
        """Of each curve in ``others`` that shares its unit, the name, and the ratio of this one's speed to its."""
        theirs = [(each.name, iso_points(each.curve)) for each in self.others if comparable(each, self.kept)]
        return [(name, self.iso.p / iso.p) for name, iso in theirs]


def measure_curve(
    runs: Sequence[int], asked: Asked, notebook_path: Path | None, *, keep: bool = False, output: Path | None = None
) -> Measured:
    """The curve of the paper of sheets ``runs``, by their readings; kept if ``keep``, drawn at ``output`` (PNG) if said.

    LamphouseError, and nothing kept, where there are none, they are of several papers, or a name is taken.
    """
    if output:
        must_be_free(output)
    with existing(notebook_path) as notebook:
        sheets = [_sheet(notebook, run, asked.printed, asked.lux) for run in dict.fromkeys(runs)]
    found = _measured(sheets, asked)
    path = curves_file()
    others = tuple(each for each in load_curves(path) if not each.is_of(found.kept.paper, found.kept.grade))
    if keep and not found.kept.paper:
        raise Refused("a curve is kept by its paper: say its name, --paper 'Pearl'")
    if output:
        from timer.measure.curve_picture import curve_picture

        unit = ("lux seconds" if found.kept.lux else "seconds") + (", less the tablet's density" if asked.printed else "")
        write_new(output, curve_picture(found.title, unit, found.curve, found.points, found.iso))
    return replace(found, others=others, instead_of=keep_curve(path, found.kept) if keep else None)


def tablet_of(file: Path) -> dict[str, float]:
    """The densities in an instrument's CGATS ``file``, by sample. LamphouseError for none."""
    found, _, _ = read_samples(read_text(file, instead="latin-1"), str(file))
    return {each.sample: density_of(each) for each in found}


def _sheet(notebook: Notebook, run: int, printed: Mapping[str, float] | None, lux: float | None) -> BwSheet:
    row = notebook.run(run)
    if row.damage:
        raise LamphouseError(f"run {run}: {row.damage}")
    recipe = parse_recipe(row.recipe) if row.recipe else to_read.find(notebook, run).recipe
    return bw_sheet(row, notebook.exposures(run), readings(notebook, run), recipe, printed=printed, lux=lux)


def _measured(sheets: Sequence[BwSheet], asked: Asked) -> Measured:
    grade = _one("grade", [sheet.grade for sheet in sheets], asked.grade)
    paper = asked.paper or _one("paper", [sheet.paper for sheet in sheets], None)
    set_up = asked.set_up or _one("set-up", [sheet.set_up for sheet in sheets], None)
    curve = curve_of(sheets, base=asked.base, black=asked.black)
    points = tuple(point for sheet in sheets for point in sheet.points)
    error = max(0.0001, round((sum(point.error**2 for point in points) / len(points)) ** 0.5, 4))
    try:
        iso = iso_points(curve)
    except ValueError as fault:
        raise Refused(f"sheet {sheets[0].run}: {fault}; ISO's R and P need it") from None
    try:
        r_net = iso_points(curve, net=True).r
    except ValueError:
        r_net = None
    rounded = KeptCurve(
        paper=paper[:60],
        grade=grade,
        log_exposure=tuple(round(x, 5) for x in curve.log_exposure),
        density=tuple(round(d, 4) for d in curve.density),
        base=round(curve.base, 4),
        darkest=round(curve.darkest, 4),
        lux=asked.lux is not None,
        set_up="" if asked.lux is not None else set_up[:200],
        sheets=tuple(sheet.run for sheet in sheets),
        read_on=date.today().isoformat(),
        error=error,
    )
    return Measured(rounded, curve, iso, points, errors(curve, iso, error), r_net)


def _one(what: str, theirs: list[str], said: str | None) -> str:
    """What the sheets say, all alike, or what is ``said`` where they say nothing."""
    known = {one for one in theirs if one} | ({said} if said else set())
    if len(known) > 1:
        raise Refused(f"these are of {len(known)} different {what}s, {' and '.join(sorted(known))}; a curve is of one")
    return next(iter(known), "")
