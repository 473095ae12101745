"""``lamphouse read``."""

from fractions import Fraction

import click

from timer.cli.options import SECONDS, Finite, as_stops, json_option
from timer.cli.show import echo_json
from timer.craft.read_strip import advice, seconds_at
from timer.craft.stops import format_stops, stops_between
from timer.craft.strip import MOST_PATCHES, patches
from timer.errors import Refused


@click.command("read")
@click.argument("place", type=Finite(min=0, max=100))
@click.option("--from", "first", type=SECONDS, required=True, help="Seconds of patch 1.")
@click.option("--step", callback=as_stops, default="1/3", show_default=True, help="Stops between patches.")
@click.option("--patches", "count", type=click.IntRange(2, MOST_PATCHES), default=5, show_default=True)
@json_option
def command(place: float, first: float, step: Fraction, count: int, as_json: bool) -> None:
    """The time for PLACE on a strip: 3 is patch 3, 3.5 half-way between 3 and 4, counted in stops.

    \b
    Example:
      lamphouse read 3.5 --from 8 --step 1/3
    """
    try:
        times = [p.seconds for p in patches(first, step, count)]
        seconds = seconds_at(times, place)
    except ValueError as error:
        raise Refused(str(error)) from None
    stops = stops_between(first, seconds)
    says = advice(times, place)
    if as_json:
        echo_json({"seconds": seconds, "stops": stops, "advice": says})
        return
    click.echo(f"{seconds:.2f} s, {format_stops(Fraction(stops).limit_denominator(48), signed=True)} stop from patch 1")
    if says:
        click.echo(says)
