"""``lamphouse calibrations curve``: the curves of your own papers that are kept."""

import click
import msgspec

from timer.app.calibrations import curves_of, forget_curves_of
from timer.cli.options import json_option
from timer.cli.show import echo_json
from timer.cli.values import Line
from timer.documents.paper_curves import KeptCurve
from timer.documents.recipe import GRADES


@click.command("curve")
@click.argument("paper", type=Line(60))
@click.option("--grade", type=click.Choice(GRADES), metavar="GRADE", help="Of this grade alone, 00 to 5; else of all.")
@click.option("--forget", is_flag=True, help="Take it away.")
@json_option
def curve_command(paper: str, grade: str | None, forget: bool, as_json: bool) -> None:
    """Show the curves of PAPER that `lamphouse paper-curve` kept, or forget them.

    \b
    Examples:
      lamphouse calibrations curve Pearl
      lamphouse calibrations curve Pearl --grade 2 --forget
    """
    found = forget_curves_of(paper, grade) if forget else curves_of(paper, grade)
    if as_json:
        echo_json({"curves": msgspec.to_builtins(found), "forgotten": forget})
        return
    for each in found:
        click.echo(f"forgotten: curve of {each.name}" if forget else f"curve of {each.name}: {curve_text(each)}")
        for x, density in () if forget else zip(each.log_exposure, each.density, strict=True):
            click.echo(f"  {x:6.2f}  {density:.2f}")


def curve_text(kept: KeptCurve) -> str:
    """R and what else is known of a kept curve, on one line."""
    from timer.craft.bw_curve import iso_points, rounded_p, rounded_r

    iso = iso_points(kept.curve)
    speed = f" P{rounded_p(iso.p):g}" if kept.lux else ""
    sheets = ", ".join(map(str, kept.sheets))
    parts = [
        f"R{rounded_r(iso.r)}{speed}",
        f"{kept.base:.2f} to {kept.darkest:.2f}",
        f"sheet {sheets}" if sheets else "",
        kept.read_on,
        kept.set_up,
    ]
    return ", ".join(part for part in parts if part)
