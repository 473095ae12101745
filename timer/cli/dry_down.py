"""Dry-down from densities of one print, wet and dry, for ``lamphouse drydown``."""

import click

from timer.app.calibrations import curve_of
from timer.cli.show import echo_json
from timer.craft.bw_grade import dry_down
from timer.craft.stops import stops_text
from timer.errors import Refused

MOST_PAIRS = 60


def from_readings(wet: str, dry: str, paper: str, grade: str, *, as_json: bool) -> None:
    """Say how much less light makes the dry print what it was wet. Refused in one sentence."""
    mine = curve_of(paper, grade)
    pairs = list(zip(_densities("--wet", wet), _densities("--dry", dry), strict=False))
    if len(_densities("--wet", wet)) != len(_densities("--dry", dry)):
        raise Refused("--wet and --dry need as many densities, of the same places in the same order")
    try:
        found = dry_down(mine.curve, pairs)
    except ValueError as error:
        raise Refused(f"{mine.name}: {error}") from None
    if as_json:
        rows = [{"wet": a, "dry": b, "stops": round(one, 4)} for (a, b), one in zip(pairs, found.each, strict=True)]
        data = {"paper": mine.paper, "grade": mine.grade, "places": rows}
        echo_json(
            data | {"stops": round(found.stops, 4), "error": round(found.error, 4), "percent": round(found.percent, 2)}
        )
        return
    click.echo(" wet    dry   stops")
    for (a, b), one in zip(pairs, found.each, strict=True):
        click.echo(f"{a:4.2f}   {b:4.2f}   {stops_text(one):>5}")
    if found.percent <= 0:
        click.echo(f"{mine.name} dries no darker: no dry-down to allow for.")
        return
    click.echo(
        f"{mine.name} dries darker by {found.stops:.2f} stop (give or take {found.error:.2f}): {found.percent:.1f} % less, "
        f"in a recipe dry_down_percent = {found.percent:.1f}"
    )


def _densities(option: str, text: str) -> list[float]:
    try:
        found = [float(part) for part in text.replace(",", " ").split()]
    except ValueError:
        found = []
    if not 1 <= len(found) <= MOST_PAIRS or not all(0 <= one <= 5 for one in found):
        raise Refused(f"{option} {text!r} is no row of densities like '0.15 0.62 1.05'")
    return found
