"""``lamphouse grade``."""

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
    from timer.app.grading import TestPrint

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
    from timer.app.calibrations import curves_of
    from timer.app.grading import grades

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
    mine = curves_of(paper)
    test = None
    if light is not None and dark is not None:
        test = _test(light, dark, seconds, through, run, notebook_path)
    answer = grades(mine, density_range, test, highlight, shadow)
    if as_json:
        echo_json(answer)
    else:
        click.echo("\n".join(_lines(answer)))


def _test(
    light: str, dark: str, seconds: float | None, through: str | None, run: int | None, notebook_path: Path | None
) -> "TestPrint":
    from timer.app.grading import TestPrint, test_print

    if run is None:
        if seconds is None:
            raise click.UsageError("say the --seconds of the test print (and its grade, --through), or its --run")
        return TestPrint(_density(light), _density(dark), seconds, through or "")
    if seconds is not None or through is not None:
        raise click.UsageError("the notebook knows time and grade of --run: leave --seconds and --through away")
    return test_print(run, light, dark, notebook_path)


def _density(text: str) -> float:
    try:
        found = float(text)
    except ValueError:
        found = -1.0
    if not 0 <= found <= 5:
        raise Refused(f"{text!r} is not a density like 0.22 (a sample's name needs --run)")
    return found


def _by_table(density_range: float, *, as_json: bool) -> None:
    from timer.app.grading import by_table

    table = by_table(100 * density_range)
    if as_json:
        echo_json({"range": density_range, "r_needed": 100 * density_range, **table})
    else:
        click.echo(f"A paper of R{100 * density_range:.0f}: {_table_text(table)}. Your own paper: name it, measured once.")


def _table_text(table: dict[str, Any]) -> str:
    filters = f"filter {table['usual_filter']}" if table["usual_filter"] else "no contrast filter"
    graded = f"grade {table['graded_paper']}" if table["graded_paper"] is not None else "none"
    return f"by the usual table {filters}, of graded paper {graded}"


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
