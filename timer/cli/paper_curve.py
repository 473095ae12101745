"""``lamphouse paper-curve``."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from timer.cli.options import json_option, notebook_option
from timer.cli.show import echo_json
from timer.cli.values import FILE, RUN, Finite, Line
from timer.craft.stops import digits
from timer.documents.recipe import GRADES
from timer.errors import LamphouseError, Refused

if TYPE_CHECKING:
    from timer.craft.bw_curve import IsoPoints, PaperCurve
    from timer.documents.paper_curves import KeptCurve
    from timer.measure.bw_sheet import BwSheet, Point
    from timer.notebook.store import Notebook

DENSITY = Finite("density", 0, 5)
MOST_STEPS = 60


def as_printed(ctx: click.Context, param: click.Parameter, value: str | None) -> dict[str, float] | None:
    """Callback: the densities of a step tablet by the names of its steps: typed, named 1, 2 and so on, or a CGATS file."""
    if value is None:
        return None
    try:
        steps = [float(part) for part in value.replace(",", " ").split()]
    except ValueError:
        return _of_file(value)
    if not 3 <= len(steps) <= MOST_STEPS or not all(0 <= d <= 6 for d in steps):
        raise click.BadParameter("a tablet is 3 to 60 densities of 0 to 6, like '0.05 0.20 0.35'", ctx, param)
    return {str(n): density for n, density in enumerate(steps, 1)}


def _of_file(name: str) -> dict[str, float]:
    from timer.documents.files import read_text
    from timer.documents.measured_file import read_samples
    from timer.measure.bw_sheet import density_of

    found, _, _ = read_samples(read_text(Path(name), instead="latin-1"), name)
    return {each.sample: density_of(each) for each in found}


@click.command("paper-curve")
@click.argument("runs", type=RUN, nargs=-1, required=True)
@click.option(
    "--printed",
    callback=as_printed,
    metavar="DENSITIES",
    help="The sheet is a print of a step tablet of these densities: '0.05 0.20 0.35 ...', or a CGATS file of them.",
)
@click.option(
    "--paper", metavar="NAME", type=Line(60), default="", help="The paper, as you call it.  [default: as the sheet has it]"
)
@click.option("--grade", type=click.Choice(GRADES), metavar="GRADE", help="Its grade, 00 to 5, if the sheet has none.")
@click.option("--base", type=DENSITY, help="Density of an edge that had no light; else of sample 'base'.")
@click.option("--black", type=DENSITY, help="Density of a piece that had all the light; else of sample 'black'.")
@click.option(
    "--lux",
    type=Finite("lux", 0, 100_000, above=True),
    help="Light on the paper, by a meter: then P is a speed, not a ratio. Of a tablet: without it.",
)
@click.option(
    "--set-up",
    metavar="NAME",
    type=Line(200),
    default="",
    help="Name of negative, size and aperture, which made seconds alike.",
)
@click.option("--keep", is_flag=True, help="Keep it for this paper and grade: preview, grade and resize use it.")
@click.option("-o", "--output", type=FILE, help="The curve as a picture (PNG).")
@json_option
@notebook_option
def command(
    runs: tuple[int, ...],
    printed: dict[str, float] | None,
    paper: str,
    grade: str | None,
    base: float | None,
    black: float | None,
    lux: float | None,
    set_up: str,
    keep: bool,
    output: Path | None,
    as_json: bool,
    notebook_path: Path | None,
) -> None:
    """A black-and-white paper's own curve, ISO R and P, from the readings of RUNS: strips of one place, or a print of a
    step tablet.

    A strip in half stops, from white to full black: 14 patches for a normal grade. Read them with a densitometer
    (`lamphouse notebook readings`) or scan them with a step tablet beside (`lamphouse scan`). Sample 'base' is an edge that
    had no light, 'black' a piece that had all of it: with them the strip may be shorter.

    \b
    Examples:
      lamphouse strip --from 1 --step 1/2 --patches 14 --grade 2 \\
          --paper-name Pearl
      lamphouse paper-curve 12 --keep -o pearl-2.png
      lamphouse paper-curve 12 --base 0.05 --black 2.08
      lamphouse paper-curve 14 --printed "0.05 0.20 0.35 0.50 0.65 0.80"
    """
    from timer.app.notebooks import existing
    from timer.documents.files import must_be_free, write_new
    from timer.documents.paper_curves import curves_file, keep_curve, load_curves

    if output:
        if output.suffix.lower() != ".png":
            raise click.UsageError("--output ends in .png: the picture is one")
        must_be_free(output)
    if lux is not None and set_up:
        raise click.UsageError("--set-up is for seconds; with --lux a curve is of lux seconds, alike in every set-up")
    with existing(notebook_path) as notebook:
        sheets = [_sheet(notebook, run, printed, lux) for run in dict.fromkeys(runs)]
    found = _measured(sheets, paper, grade, base, black, set_up, lux=lux is not None)
    path = curves_file()
    others = [each for each in load_curves(path) if not each.is_of(found.kept.paper, found.kept.grade)]
    if keep and not found.kept.paper:
        raise Refused("a curve is kept by its paper: say its name, --paper 'Pearl'")
    if output:
        from timer.measure.curve_picture import curve_picture

        unit = ("lux seconds" if found.kept.lux else "seconds") + (", less the tablet's density" if printed else "")
        write_new(output, curve_picture(found.title, unit, found.curve, found.points, found.iso))
    old = keep_curve(path, found.kept) if keep else None
    if as_json:
        echo_json(_data(found, others, output, kept=keep))
        return
    click.echo("\n".join(_lines(found, others)))
    if output:
        click.echo(f"- the curve is drawn in {output}")
    if keep:
        instead = f", in the place of that of sheet {', '.join(map(str, old.sheets))}" if old else ""
        click.echo(f"Kept as {found.kept.name}{instead}.")
    else:
        click.echo("Nothing is kept; the same again with --keep.")


@dataclass(frozen=True)
class Measured:
    """What was found, as it would be kept."""

    kept: "KeptCurve"
    curve: "PaperCurve"
    iso: "IsoPoints"
    points: "tuple[Point, ...]"
    errors: tuple[float, float]
    r_net: float | None

    @property
    def title(self) -> str:
        """Paper and grade, and R."""
        from timer.craft.bw_curve import rounded_r

        return f"{self.kept.name or 'Paper'}: ISO R{rounded_r(self.iso.r)}" + self.speed

    @property
    def speed(self) -> str:
        """P, where the light is known."""
        from timer.craft.bw_curve import rounded_p

        return f" P{rounded_p(self.iso.p):g}" if self.kept.lux else ""


def _sheet(notebook: "Notebook", run: int, printed: dict[str, float] | None, lux: float | None) -> "BwSheet":
    from timer.documents.recipe_file import parse_recipe
    from timer.measure.bw_sheet import bw_sheet
    from timer.notebook import to_read
    from timer.notebook.readings import readings

    row = notebook.run(run)
    if row.damage:
        raise LamphouseError(f"run {run}: {row.damage}")
    recipe = parse_recipe(row.recipe) if row.recipe else to_read.find(notebook, run).recipe
    return bw_sheet(row, notebook.exposures(run), readings(notebook, run), recipe, printed=printed, lux=lux)


def _measured(
    sheets: "Sequence[BwSheet]",
    paper: str,
    grade: str | None,
    base: float | None,
    black: float | None,
    set_up: str,
    *,
    lux: bool,
) -> Measured:
    from datetime import date

    from timer.craft.bw_curve import errors, iso_points
    from timer.documents.paper_curves import KeptCurve
    from timer.measure.bw_sheet import curve_of

    grade = _one("grade", [sheet.grade for sheet in sheets], grade)
    paper = paper or _one("paper", [sheet.paper for sheet in sheets], None)
    set_up = set_up or _one("set-up", [sheet.set_up for sheet in sheets], None)
    curve = curve_of(sheets, base=base, black=black)
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
        lux=lux,
        set_up="" if lux else set_up[:200],
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


def _lines(found: Measured, others: "Sequence[KeptCurve]") -> list[str]:
    from timer.craft.bw_curve import rounded_p, rounded_r

    unit = "log lux s" if found.kept.lux else "  log s"
    lines = [found.kept.name or "no name", f"sheet  sample  seconds  {unit:>9}   read  curve"]
    for point in found.points:
        line = found.curve.density_at(point.log_exposure)
        at = f"{point.sample:>6.6}  {digits(point.seconds):>7}  {point.log_exposure:9.2f}"
        lines.append(f"{point.run:5}  {at}  {point.density:5.2f}  {line:5.2f}")
    iso, curve, (r_error, p_error) = found.iso, found.curve, found.errors
    highlight, shadow = (curve.density_at(x) for x in (iso.highlight, iso.shadow))
    lines += [
        f"base {curve.base:.2f}, greatest density {curve.darkest:.2f}",
        f"ISO R{rounded_r(iso.r)} ({iso.r:.0f}, give or take {_whole(r_error)}): the range of light between a density of "
        f"{highlight:.2f}, 0.04 above the base, and one of {shadow:.2f}, 90 % of the greatest",
    ]
    if found.kept.lux:
        lines.append(
            f"ISO P{rounded_p(iso.p):g} ({_whole(iso.p)}, give or take {_whole(iso.p * (10**p_error - 1))}), by your "
            "meter and lamp"
        )
    else:
        lines.append(
            f"density 0.6 above the base at {digits(10**iso.speed)} s; a speed P needs the light in lux (--lux), so P is "
            "only a ratio to papers and grades measured in the same set-up"
        )
    lines += [f"- against {name}: P x {digits(ratio)}" for name, ratio in _ratios(found, others)]
    return lines


def _whole(number: float) -> str:
    """To the unit, or below ten to two digits: an error of 0.3 is not 0."""
    return f"{number:.0f}" if number >= 10 else f"{number:.2g}"


def _ratios(found: Measured, others: "Sequence[KeptCurve]") -> list[tuple[str, float]]:
    from timer.craft.bw_curve import iso_points
    from timer.documents.paper_curves import comparable

    theirs = [(each.name, iso_points(each.curve)) for each in others if comparable(each, found.kept)]
    return [(name, found.iso.p / iso.p) for name, iso in theirs]


def _data(found: Measured, others: "Sequence[KeptCurve]", picture: Path | None, *, kept: bool) -> dict[str, Any]:
    from timer.craft.bw_curve import rounded_p, rounded_r

    iso, (r_error, p_error) = found.iso, found.errors
    return {
        "paper": found.kept.paper,
        "grade": found.kept.grade,
        "set_up": found.kept.set_up,
        "exposures": "lux seconds" if found.kept.lux else "seconds",
        "readings": [
            {
                "run": point.run,
                "sample": point.sample,
                "seconds": point.seconds,
                "log_exposure": round(point.log_exposure, 4),
                "density": round(point.density, 4),
                "curve": round(found.curve.density_at(point.log_exposure), 4),
            }
            for point in found.points
        ],
        "base": found.kept.base,
        "greatest_density": found.kept.darkest,
        "highlight_log_exposure": round(iso.highlight, 4),
        "speed_log_exposure": round(iso.speed, 4),
        "shadow_log_exposure": round(iso.shadow, 4),
        "r": rounded_r(iso.r),
        "r_unrounded": round(iso.r, 2),
        "r_error": round(r_error, 2),
        "r_net": None if found.r_net is None else round(found.r_net, 2),
        "p": rounded_p(iso.p) if found.kept.lux else None,
        "p_unrounded": round(iso.p, 2) if found.kept.lux else None,
        "p_log_error": round(p_error, 4),
        "p_ratios": [{"to": name, "ratio": round(ratio, 4)} for name, ratio in _ratios(found, others)],
        "picture": str(picture) if picture else None,
        "kept": kept,
    }
