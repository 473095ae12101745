"""``lamphouse drift``: the control patch over time."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from timer.cli.options import json_option, notebook_option
from timer.cli.show import echo_json
from timer.cli.solve import as_aim
from timer.cli.values import FILE, RUN, Line
from timer.craft.control import TREND, Verdict
from timer.craft.stops import digits

if TYPE_CHECKING:
    from timer.measure.drift import Drift
    from timer.measure.sheet import Aim

SHOWN = 20
"""Sessions in the table, the newest."""


@click.command("drift")
@click.argument("negative", type=Line(), default="control")
@click.option(
    "--aim",
    metavar="DENSITIES",
    callback=as_aim,
    help="Densities it should have.  [default: the mean of its first three sessions]",
)
@click.option("--since", type=RUN, default=1, help="The first sheet that counts: after a new box, lamp or kit of chemistry.")
@click.option("-o", "--output", type=FILE, help="Draw it here (PNG).")
@json_option
@notebook_option
def command(
    negative: str, aim: "Aim | None", since: int, output: Path | None, as_json: bool, notebook_path: Path | None
) -> None:
    """Baths and lamp over time: the densities of the standard NEGATIVE, printed at one setting every session.

    Name it with `lamphouse notebook write RUN --negative control` and take its densities in. What is off by more than 0.05
    is to be watched; beyond 0.08 something is to be done.

    \b
    Examples:
      lamphouse drift
      lamphouse drift "grey card, roll 3" -o drift.png
    """
    from timer.app.drift import drift_of

    found = drift_of(negative, aim, since, output, notebook_path)
    if as_json:
        echo_json(_data(found))
        return
    click.echo("\n".join(_lines(found) + ([f"- drawn in {output}"] if output else [])))


def _lines(found: "Drift") -> list[str]:
    many = len(found.sessions)
    by = found.kind or "densitometer"
    aim = "  ".join(f"{d:.2f}" for d in found.aim)
    how = "as said" if found.aim_said else f"mean of the first {min(3, many)}"
    lines = [
        f"{found.name}: {found.setting}, {digits(found.seconds)} s, by {by}; aim {aim} ({how})",
        "sheet  date          red          green        blue",
    ]
    for each in found.sessions[-SHOWN:]:
        cells = "  ".join(
            f"{d:.2f} {round(off, 2) + 0.0:+.2f}" for d, off in zip(each.density, each.verdict.off, strict=True)
        )
        lines.append(f"{each.run:5}  {each.begun[:10]}    {cells}   {_words(each.verdict)}")
    if many > SHOWN:
        lines.append(f"- {many - SHOWN} sessions before these are not shown")
    lines += [f"- {each}: {TREND} sessions one after another" for each in found.trends]
    if found.left_out:
        numbers = ", ".join(map(str, found.left_out))
        lines.append(f"- left out: sheets {numbers}, at another setting or read with another instrument")
    return [*lines, _says(found)]


def _says(found: "Drift") -> str:
    """What is to be done, in one sentence. Common practice."""
    last = found.sessions[-1].verdict
    if last.state == "act":
        return (
            f"Act: {', '.join(last.out)}. Print it once more before anything is changed; then baths (temperature, time, how "
            "much they have done), then the lamp."
        )
    if last.state == "watch" or found.trends:
        return f"Watch: {', '.join((*last.out, *found.trends))}."
    return "In limits."


def _words(verdict: Verdict) -> str:
    return f"{', '.join(verdict.out)}: {verdict.state}" if verdict.out else verdict.state


def _data(found: "Drift") -> dict[str, Any]:
    sessions = [
        {
            "sheet": each.run,
            "begun": each.begun,
            "density": list(each.density),
            "off": [round(off, 4) for off in each.verdict.off],
            "state": each.verdict.state,
            "words": _words(each.verdict),
        }
        for each in found.sessions
    ]
    return {
        "negative": found.name,
        "setting": found.setting,
        "seconds": found.seconds,
        "read_with": found.kind or "densitometer",
        "aim": [round(d, 4) for d in found.aim],
        "aim_said": found.aim_said,
        "sessions": sessions,
        "trends": list(found.trends),
        "left_out": list(found.left_out),
        "says": _says(found),
    }
