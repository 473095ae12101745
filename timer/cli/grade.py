"""``lamphouse grade``."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from timer.cli.options import json_option, notebook_option, refuse_idle
from timer.cli.show import echo_json
from timer.cli.values import RUN, SECONDS, Finite, Line
from timer.craft.stops import digits
from timer.documents.recipe import GRADES
from timer.errors import Refused

if TYPE_CHECKING:
    from timer.documents.paper_curves import KeptCurve

DENSITY = Finite("density", 0, 5)
RANGE = Finite("density", 0.1, 4)


@click.command("grade")
@click.argument("paper", type=Line(60), required=False)
@click.option("--range", "density_range", type=RANGE, help="Density of the negative between the two places.")
@click.option(
    "--light", metavar="DENSITY", help="Density of the light place on a test print, or its sample's name in --run."
)
@click.option("--dark", metavar="DENSITY", help="Density of the dark place, or its sample's name.")
@click.option("--seconds", type=SECONDS, help="Time of the test print.")
@click.option("--through", type=click.Choice(GRADES), metavar="GRADE", help="Grade of the test print, 00 to 5.")
@click.option("--run", type=RUN, help="The test print in the notebook: it has readings, time and grade.")
@click.option("--highlight", type=DENSITY, help="Density that the light place is to have.  [default: 0.04 above base]")
@click.option("--shadow", type=DENSITY, help="Density of the dark place.  [default: 90 % of the greatest]")
@json_option
@notebook_option
def command(
    paper: str | None,
    density_range: float | None,
    light: str | None,
    dark: str | None,
    seconds: float | None,
    through: str | None,
    run: int | None,
    highlight: float | None,
    shadow: float | None,
    as_json: bool,
    notebook_path: Path | None,
) -> None:
    """Grade and base time for a negative, by the curves of PAPER that were kept (`lamphouse paper-curve`).

    Either the negative's density --range between a light and a dark place of the picture, or both places read on a test
    print: then the time is known too.

    \b
    Examples:
      lamphouse grade --range 1.05
      lamphouse grade Pearl --range 1.25 --highlight 0.12 --shadow 1.85
      lamphouse grade Pearl --light 0.22 --dark 1.60 --seconds 11 --through 2 \\
          --highlight 0.12
      lamphouse grade Pearl --run 14 --light "3 sky" --dark "3 coat"
    """
    from timer.documents.paper_curves import curves_file, load_curves, none_kept

    if run is None:
        refuse_idle({"--notebook": "notebook_path"}, "it is read for a test print's number (--run)")
    if (density_range is None) == (light is None and dark is None):
        raise click.UsageError("say the negative's --range, or --light and --dark as read on a test print")
    if density_range is not None:
        if seconds is not None or through is not None or run is not None:
            raise click.UsageError("--seconds, --through and --run are of a test print; with --range leave them away")
        if paper is None:
            if highlight is not None or shadow is not None:
                raise click.UsageError("--highlight and --shadow need the name of a PAPER: they are read off its curve")
            _by_table(density_range, as_json=as_json)
            return
    elif light is None or dark is None or paper is None:
        raise click.UsageError("a test print needs the name of its PAPER, and both --light and --dark")
    assert paper is not None
    kept = load_curves(curves_file())
    mine = [each for each in kept if each.is_of(paper, None)]
    if not mine:
        raise Refused(none_kept(kept, paper))
    test = None
    if light is not None and dark is not None:
        test = _test(light, dark, seconds, through, run, notebook_path)
    answer = _answer(mine, density_range, test, highlight, shadow)
    if as_json:
        echo_json(answer)
    else:
        click.echo("\n".join(_lines(answer)))


@dataclass(frozen=True)
class Test:
    """Two places read on a print of so many seconds through a grade."""

    light: float
    dark: float
    seconds: float
    grade: str


def _test(
    light: str, dark: str, seconds: float | None, through: str | None, run: int | None, notebook_path: Path | None
) -> Test:
    if run is None:
        if seconds is None:
            raise click.UsageError("say the --seconds of the test print (and its grade, --through), or its --run")
        return Test(_density(light), _density(dark), seconds, through or "")
    if seconds is not None or through is not None:
        raise click.UsageError("the notebook knows time and grade of --run: leave --seconds and --through away")
    from timer.app.notebooks import existing
    from timer.measure.bw_sheet import density_of, light_of_print
    from timer.notebook.readings import readings

    with existing(notebook_path) as notebook:
        row, exposures = notebook.run(run), notebook.exposures(run)
        by_name = {each.sample.lower(): each for each in readings(notebook, run)}
    for name in (light, dark):
        if name.lower() not in by_name:
            known = ", ".join(each.sample for each in by_name.values()) or "none"
            raise Refused(f"sheet {run} has no sample {name!r}; it has: {known}")
    given = [light_of_print(row, exposures, name) for name in (light, dark)]
    if given[0] != given[1]:
        raise Refused(f"{light!r} and {dark!r} are of patches with different light; both places must be of one patch")
    read = [density_of(by_name[name.lower()]) for name in (light, dark)]
    return Test(read[0], read[1], *given[0])


def _density(text: str) -> float:
    try:
        found = float(text)
    except ValueError:
        found = -1.0
    if not 0 <= found <= 5:
        raise Refused(f"{text!r} is not a density like 0.22 (a sample's name needs --run)")
    return found


def _by_table(density_range: float, *, as_json: bool) -> None:
    table = _table(100 * density_range)
    if as_json:
        echo_json({"range": density_range, "r_needed": 100 * density_range, **table})
    else:
        click.echo(f"A paper of R{100 * density_range:.0f}: {_table_text(table)}. Your own paper: name it, measured once.")


def _table(r: float) -> dict[str, Any]:
    """The contrast filter whose usual R is nearest, and the grade of graded paper; None off the table."""
    from timer.bench.paper import RANGE_OF_GRADE
    from timer.craft.paper import grade_of_range

    try:
        graded: int | None = grade_of_range(r)
    except ValueError:
        graded = None
    filters = min(RANGE_OF_GRADE, key=lambda grade: abs(RANGE_OF_GRADE[grade] - r))
    near = min(RANGE_OF_GRADE.values()) - 10 <= r <= max(RANGE_OF_GRADE.values()) + 20
    return {"usual_filter": filters if near else None, "graded_paper": graded}


def _table_text(table: dict[str, Any]) -> str:
    filters = f"filter {table['usual_filter']}" if table["usual_filter"] else "no contrast filter"
    graded = f"grade {table['graded_paper']}" if table["graded_paper"] is not None else "none"
    return f"by the usual table {filters}, of graded paper {graded}"


def _answer(
    mine: "list[KeptCurve]",
    density_range: float | None,
    test: Test | None,
    highlight: float | None,
    shadow: float | None,
) -> dict[str, Any]:
    """What JSON has; the lines are made of it."""
    from timer.craft.bw_curve import iso_points
    from timer.craft.bw_grade import needed_r, negative_range, range_between, shadow_of

    made_on = None
    if test:
        made_on = next((each for each in mine if each.grade == test.grade), None)
        if not made_on:
            known = ", ".join(each.grade or "no filter" for each in mine)
            raise Refused(
                f"the test print is of grade {test.grade or '(no filter)'}, of which {mine[0].paper} has no curve; there "
                f"are: {known}"
            )
        density_range = _or_refused(f"{made_on.name}: ", lambda: negative_range(made_on.curve, test.light, test.dark))
    assert density_range is not None
    rows = []
    for each in mine:
        curve, iso = each.curve, iso_points(each.curve)
        light = highlight if highlight is not None else curve.density_at(iso.highlight)
        dark = shadow if shadow is not None else curve.density_at(iso.shadow)

        def of(each: "KeptCurve" = each, light: float = light, dark: float = dark) -> dict[str, Any]:
            curve, iso = each.curve, iso_points(each.curve)
            row = {
                "grade": each.grade,
                "r": round(iso.r, 1),
                "holds": round(range_between(curve, light, dark), 3),
                "highlight": round(light, 3),
                "shadow": round(shadow_of(curve, density_range, light), 3),
                "shadow_wanted": round(dark, 3),
                "r_needed": round(needed_r(curve, iso, density_range, light, dark), 1),
                "seconds": None,
                "by_usual_factor": False,
            }
            if test and made_on:
                row |= _time(test, made_on, each, light)
            return row

        rows.append(_or_refused(f"{each.name}: ", of))
    best = min(rows, key=lambda row: abs(row["holds"] - density_range))
    return {
        "paper": mine[0].paper,
        "range": round(density_range, 3),
        "grades": sorted(rows, key=lambda row: -row["r"]),
        "best": best["grade"],
        "r_needed": best["r_needed"],
        "seconds": best["seconds"],
        **_table(best["r_needed"]),
    }


def _time(test: Test, made_on: "KeptCurve", each: "KeptCurve", light: float) -> dict[str, Any]:
    """Seconds on the curve of ``each``; by the usual factor between filters where the curves share no unit."""
    from timer.craft.bw_grade import log_time
    from timer.craft.paper import grade_factor
    from timer.documents.paper_curves import comparable

    if made_on == each or comparable(made_on, each):
        step = log_time(made_on.curve, test.light, each.curve, light)
        return {"seconds": float(f"{test.seconds * 10**step:.6g}")}
    if not (made_on.grade and each.grade):
        return {}
    factor = grade_factor(made_on.grade, each.grade)
    step = log_time(made_on.curve, test.light, each.curve, light, new_over_old=factor)
    return {"seconds": float(f"{test.seconds * 10**step:.6g}"), "by_usual_factor": True}


def _or_refused(where: str, make: Any) -> Any:
    try:
        return make()
    except ValueError as error:
        raise Refused(f"{where}{error}") from None


def _lines(answer: dict[str, Any]) -> list[str]:
    rows, best = answer["grades"], next(row for row in answer["grades"] if row["grade"] == answer["best"])
    name = f"grade {best['grade']}" if best["grade"] else answer["paper"]
    time = f", {digits(best['seconds'])} s" if best["seconds"] else ""
    off = best["shadow"] - best["shadow_wanted"]
    as_wanted = "as wanted" if abs(off) < 0.05 else f"{abs(off):.2f} {'darker' if off > 0 else 'lighter'} than wanted"
    lines = [
        f"{answer['paper']}: {name}{time}. Highlight {best['highlight']:.2f}, shadow {best['shadow']:.2f}, {as_wanted}.",
        "grade     R   holds   shadow   seconds",
    ]
    for row in rows:
        seconds = f"{digits(row['seconds']):>7}" if row["seconds"] else "      -"
        mark = "  <" if row is best else ""
        about = "  (time by the usual factor between filters)" if row["by_usual_factor"] else ""
        lines.append(
            f"{row['grade'] or '-':5}  {row['r']:4.0f}  {row['holds']:6.2f}  {row['shadow']:7.2f}   {seconds}{mark}{about}"
        )
    lines.append(
        f"- the negative's range is {answer['range']:.2f}: it needs R{answer['r_needed']:.0f}, {_table_text(answer)}"
    )
    if not best["seconds"]:
        lines.append("- for the time, read both places on a test print: --light, --dark, --seconds, --through")
    return lines
