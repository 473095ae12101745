"""``lamphouse read``."""

from fractions import Fraction

import click

from timer.cli.options import SECONDS, Finite, as_stops, json_option
from timer.cli.show import echo_json
from timer.craft.read_strip import advice, seconds_at
from timer.craft.stops import digits, stops_between, stops_text
from timer.craft.strip import MAX_PATCHES, patches
from timer.errors import Refused


@click.command("read")
@click.argument("place", type=Finite(min=0, max=100))
@click.option("--from", "first", type=SECONDS, help="Seconds of patch 1, as the strip was made.")
@click.option("--around", "middle", type=SECONDS, help="Seconds of the middle, as the strip was made.")
@click.option("--step", callback=as_stops, default="1/3", show_default=True, help="Stops between patches.")
@click.option("--patches", "count", type=click.IntRange(2, MAX_PATCHES), default=5, show_default=True)
@json_option
def command(place: float, first: float | None, middle: float | None, step: Fraction, count: int, as_json: bool) -> None:
    """The time for PLACE on a strip: 3 is patch 3, 3.5 half-way between 3 and 4, counted in stops.

    \b
    Examples:
      lamphouse read 3.5 --from 8 --step 1/3
      lamphouse read 2 --around 12 --step 1/6 --patches 3
    """
    if (first is None) == (middle is None):
        raise click.UsageError("say the strip's first time with --from SECONDS, or its middle with --around SECONDS")
    try:
        times = [p.seconds for p in patches(first or middle or 0.0, step, count, around=first is None)]
        seconds = seconds_at(times, place)
    except ValueError as error:
        raise Refused(str(error)) from None
    stops = stops_between(times[0], seconds)
    says = advice(times, place)
    if as_json:
        echo_json({"seconds": seconds, "stops": stops, "advice": says})
        return
    click.echo(f"{digits(seconds)} s, {stops_text(stops)} stop from patch 1")
    if says:
        click.echo(says)
