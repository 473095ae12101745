"""``lamphouse paper-curve``."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from timer.cli.options import json_option, notebook_option
from timer.cli.show import echo_json
from timer.cli.values import FILE, RUN, Finite, Line
from timer.craft.stops import digits
from timer.documents.recipe import GRADES

if TYPE_CHECKING:
    from timer.app.paper_curve import Measured

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
    from timer.app.paper_curve import tablet_of

    return tablet_of(Path(name))


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
    from timer.app.paper_curve import Asked, measure_curve

    if output and output.suffix.lower() != ".png":
        raise click.UsageError("--output ends in .png: the picture is one")
    if lux is not None and set_up:
        raise click.UsageError("--set-up is for seconds; with --lux a curve is of lux seconds, alike in every set-up")
    asked = Asked(paper, grade, base, black, lux, set_up, printed)
    found = measure_curve(runs, asked, notebook_path, keep=keep, output=output)
    if as_json:
        echo_json(_data(found, output, kept=keep))
        return
    click.echo("\n".join(_lines(found)))
    if output:
        click.echo(f"- the curve is drawn in {output}")
    if keep:
        old = found.instead_of
        instead = f", in the place of that of sheet {', '.join(map(str, old.sheets))}" if old else ""
        click.echo(f"Kept as {found.kept.name}{instead}.")
    else:
        click.echo("Nothing is kept; the same again with --keep.")


def _lines(found: "Measured") -> list[str]:
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
    lines += [f"- against {name}: P x {digits(ratio)}" for name, ratio in found.ratios()]
    return lines


def _whole(number: float) -> str:
    """To the unit, or below ten to two digits: an error of 0.3 is not 0."""
    return f"{number:.0f}" if number >= 10 else f"{number:.2g}"


def _data(found: "Measured", picture: Path | None, *, kept: bool) -> dict[str, Any]:
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
        "p_ratios": [{"to": name, "ratio": round(ratio, 4)} for name, ratio in found.ratios()],
        "picture": str(picture) if picture else None,
        "kept": kept,
    }
