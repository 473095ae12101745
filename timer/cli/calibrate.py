"""``lamphouse calibrate``: your own lamp's response, by print or by light sensor."""

import csv
from pathlib import Path
from typing import Any

import click

from timer.cli.options import SECONDS, json_option, run_options
from timer.cli.show import echo_json
from timer.craft.lamp_calibrate import deficit_from_prints, dose_of_trace, response_from_deficit, response_from_doses
from timer.craft.lamp_response import LampResponse
from timer.errors import LamphouseError, Refused


@click.group("calibrate")
def command() -> None:
    """Your own lamp's response. Until then it is taken as instant, and the screen says so.

    \b
    By print:  lamphouse calibrate print --bursts 8 --seconds 1
               lamphouse calibrate match --bursts 8 --seconds 1 --long 6.9
    By sensor: lamphouse calibrate trace long.csv short.csv --on 8 --short-on 0.25
    """


@command.command("print")
@click.option("--bursts", type=click.IntRange(4, 16), default=8, show_default=True)
@click.option("--seconds", type=SECONDS, default=1.0, show_default=True)
@run_options
def by_print(bursts: int, seconds: float, **options: Any) -> int:
    """The guided sheet: short bursts on patch 1, long exposures to match them on the others.

    \b
    Example:
      lamphouse calibrate print --bursts 8 --seconds 1 --show
    """
    from timer.cli.console import carry_out
    from timer.pieces_lamp import calibration_plan
    from timer.settings import load_settings

    # What is calibrated must not be corrected already.
    plan = calibration_plan(bursts, seconds)
    return carry_out(plan, load_settings(), lamp_response=LampResponse(), **options)


@command.command("match")
@click.option("--bursts", type=click.IntRange(2, 60), required=True)
@click.option("--seconds", type=SECONDS, required=True)
@click.option("--long", "long_s", type=SECONDS, required=True, help="The one long exposure that looks the same.")
@json_option
def match(bursts: int, seconds: float, long_s: float, as_json: bool) -> None:
    """The response from the patch that matched."""
    try:
        found = response_from_deficit(deficit_from_prints(bursts, seconds, long_s))
    except ValueError as error:
        raise Refused(str(error)) from None
    _tell(found, as_json)


@command.command("trace")
@click.argument("long_file", type=click.Path(path_type=Path))
@click.argument("short_file", type=click.Path(path_type=Path))
@click.option("--on", "long_on", type=SECONDS, required=True, help="Lamp-on seconds of the long trace; 4 or more.")
@click.option("--short-on", type=SECONDS, required=True, help="Lamp-on seconds of the short one; 0.25 does well.")
@json_option
def trace(long_file: Path, short_file: Path, long_on: float, short_on: float, as_json: bool) -> None:
    """The response from a light sensor's traces of a long and a short burst: CSV of seconds and light.

    The sensor must see what the paper sees: a lux meter reads another lamp than paper does.
    """
    times, values = _columns(long_file)
    level = sorted(values)[int(len(values) * 0.75)]
    try:
        long_dose = dose_of_trace(times, values, level)
        short_dose = dose_of_trace(*_columns(short_file), level)
        found = response_from_doses(long_on - long_dose, short_on, short_dose)
    except ValueError as error:
        raise Refused(str(error)) from None
    _tell(found, as_json)


def _columns(path: Path) -> tuple[list[float], list[float]]:
    from timer.files import read_text

    times, values = [], []
    for number, row in enumerate(csv.reader(read_text(path).splitlines()), 1):
        if not row or row[0].lstrip().startswith("#"):
            continue
        try:
            times.append(float(row[0]))
            values.append(float(row[1]))
        except (ValueError, IndexError):
            if number == 1:
                continue  # a heading
            raise LamphouseError(f"{path}, line {number}: wants two numbers, seconds and light, with a comma") from None
    if len(times) < 4:
        raise LamphouseError(f"{path}: a trace has four rows of seconds and light at least")
    return times, values


def _tell(found: LampResponse, as_json: bool) -> None:
    data = {"delay_ms": round(found.delay * 1000, 1), "rise_ms": round(found.rise * 1000, 1)}
    if as_json:
        echo_json(data)
        return
    click.echo("Put this into the settings, under the use it was made for (graded, soft, hard, colour):")
    click.echo(f"\n[lamp_response]\ndelay_ms = {data['delay_ms']}\nrise_ms = {data['rise_ms']}\n")
    click.echo("for one use alone: [lamp_response.soft], [lamp_response.hard] or [lamp_response.colour]")


@command.command("dose")
@click.option("--seconds", type=SECONDS, default=10.0, show_default=True, help="Of lamp-on time, on a lamp that is warm.")
@click.option("--port", default="", help="The controller's serial port, if it is not found by itself.")
@json_option
def by_dose(seconds: float, port: str, as_json: bool) -> None:
    """The light sensor of a controller: counts for a second of full light. No paper out; the lamp is lit for the time.

    \b
    Example:
      lamphouse calibrate dose --seconds 10
    """
    import dataclasses
    import secrets
    import threading

    from timer.cli.paper import refuse_with_paper_out
    from timer.craft.lamp_response import full_light
    from timer.keeper.host.open import open_keeper
    from timer.keeper.wire import messages
    from timer.settings import keeper_config, load_settings, response

    settings = load_settings()
    config = dataclasses.replace(keeper_config(settings, lamp="controller"), port=port or settings.port)
    counted: list[int] = []
    over = threading.Event()

    def hear(event: object) -> None:
        if isinstance(event, messages.Dark):
            counted.append(event.counts)
            over.set()

    refuse_with_paper_out(config)
    with open_keeper(config, hear) as keeper:
        keeper.expose(secrets.randbits(62) + 1, round(seconds * 1e6), now=True)
        over.wait(seconds + 5)
    if not counted or counted[0] < 100 * seconds:
        raise LamphouseError("the light sensor saw too little; check that it is on A0 and sees the lamp")
    per_s = counted[0] / full_light(seconds, response(settings))
    if as_json:
        echo_json({"counts": counted[0], "counts_per_s": per_s})
    else:
        click.echo(f"Put this into the settings:\n\ncounts_per_s = {per_s:.1f}")
