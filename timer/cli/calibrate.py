"""``lamphouse calibrate``: your own lamp's response, by print or by light sensor."""

from pathlib import Path
from typing import Any

import click

from timer.cli.group import Group
from timer.cli.options import json_option, notebook_option, refuse_idle, run_options, was_given
from timer.cli.show import echo_json
from timer.cli.values import FILE, RUN, SECONDS, Finite, Whole
from timer.craft.lamp_calibrate import (
    INSTANT_S,
    error_of_prints,
    response_from_prints,
    shorter_from_prints,
    stops_of_error,
    with_recovery,
)
from timer.craft.lamp_response import HEATED_S, LampResponse
from timer.craft.stops import digits
from timer.errors import Refused

USES = ("graded", "soft", "hard", "colour", "red", "green", "blue")
use_option = click.option(
    "--use",
    type=click.Choice(USES),
    default="graded",
    show_default=True,
    help="What it was measured for. Graded serves every use that has none of its own.",
)
keep_option = click.option("--keep", is_flag=True, help="Write it into the settings too.")


BURSTS_S = Finite("seconds", HEATED_S, 60)


@click.group("calibrate", cls=Group)
def command() -> None:
    """Your own lamp's response. Until then it is taken as instant, and the screen says so.

    \b
    Example, by print:
      lamphouse calibrate print
      lamphouse calibrate match --long 2.85
      lamphouse calibrate print --near 2.85
      lamphouse calibrate match --long 2.93 --keep
      lamphouse calibrate print --warm
      lamphouse calibrate match --long 3.15 --rest 1 --keep

    \b
    Example, by sensor:
      lamphouse calibrate lights
      lamphouse calibrate trace long.csv short.csv --again again.csv --keep
    """


@command.command("print")
@click.option("--bursts", type=Whole("number", 4, 16), default=8, show_default=True, help="How many on patch 1.")
@click.option("--seconds", type=BURSTS_S, default=0.5, show_default=True, help="Of each burst; short ones show most.")
@click.option("--near", type=SECONDS, help="The long exposure that matched on the first sheet: finer patches about it.")
@click.option("--warm", is_flag=True, help="Bursts close together, to measure how much less a warm filament loses.")
@run_options
def by_print(bursts: int, seconds: float, near: float | None, warm: bool, **options: Any) -> int:
    """The guided sheet: short bursts on patch 1, long exposures to match them on the others.

    \b
    Examples:
      lamphouse calibrate print --show
      lamphouse calibrate print --near 2.85
    """
    from timer.cli.console import carry_out
    from timer.plans.lamp_calibration import calibration_plan

    try:
        plan = calibration_plan(bursts, seconds, near=near, warm=warm)
    except ValueError as error:
        raise Refused(str(error)) from None
    # What is calibrated must not be corrected already.
    return carry_out(plan, lamp_response=LampResponse(), **options)


@command.command("match")
@click.option("--bursts", type=Whole("number", 2, 60), default=8, show_default=True, help="How many there were on patch 1.")
@click.option("--seconds", type=BURSTS_S, default=0.5, show_default=True, help="Of each burst.")
@click.option("--long", "long_s", type=SECONDS, help="The long exposure that matched the bursts, in seconds.")
@click.option("--run", type=RUN, help="Instead of --long, with --patch: the sheet's number in the notebook.")
@click.option(
    "--patch",
    type=Finite("patch", 2, 24),
    help="With --run: the patch that matched patch 1; 4.5 is between 4 and 5.",
)
@click.option(
    "--rest", type=Finite("seconds", 0.2, 60), help="A sheet made with --warm: seconds of dark between its bursts."
)
@use_option
@keep_option
@json_option
@notebook_option
def match(
    bursts: int,
    seconds: float,
    long_s: float | None,
    run: int | None,
    patch: float | None,
    rest: float | None,
    use: str,
    keep: bool,
    as_json: bool,
    notebook_path: Path | None,
) -> None:
    """The response from the patch that matched; with --rest, its recovery, on top of the cold one in the settings.

    \b
    Examples:
      lamphouse calibrate match --long 2.93 --keep
      lamphouse calibrate match --run 41 --patch 5.5 --keep
      lamphouse calibrate match --long 3.15 --rest 1 --keep
    """
    from timer.app.lamp_calibration import cold_response, match_on_sheet

    if run is not None and patch is not None and long_s is None:
        if was_given("bursts") or was_given("seconds"):
            raise click.UsageError("the notebook knows the bursts of --run: leave --bursts and --seconds away")
        found_match = match_on_sheet(run, patch, notebook_path, warm=rest is not None)
        bursts, seconds, long_s = found_match.bursts, found_match.seconds, found_match.long_s
    elif run is None and patch is None and long_s is not None:
        refuse_idle({"--notebook": "notebook_path"}, "it is read for a sheet's number (--run)")
    else:
        raise click.UsageError("say which exposure matched: --long SECONDS, or --run and --patch of the sheet")
    try:
        if rest is None:
            found = response_from_prints(bursts, seconds, long_s)
        else:
            cold = cold_response("" if use == "graded" else use)
            found = with_recovery(cold, [rest], [shorter_from_prints(cold, bursts, seconds, long_s)])
    except ValueError as error:
        raise Refused(str(error)) from None
    _tell(found, use, keep, as_json, warm=rest is not None)
    if not as_json:
        off = error_of_prints(bursts, long_s, 1 / 24)
        click.echo(
            f"\nThe eye places a match to about 1/24 stop: here that is {digits(stops_of_error(off, seconds))} stop in "
            f"exposures of {seconds:g} s, {digits(stops_of_error(off, 5))} in those of 5 s. A sensor does better."
        )


@command.command("lights")
@run_options
def lights(**options: Any) -> int:
    """The lights that `calibrate trace` wants traces of, one after another. No paper out, a sensor in its place.

    A sensor in the lamp house: unplug the enlarger and let it cool first, its lead away from terminals and heat.

    \b
    Example:
      lamphouse calibrate lights --show
    """
    from timer.cli.console import carry_out
    from timer.plans.lamp_calibration import sensor_plan

    return carry_out(sensor_plan(), lamp_response=LampResponse(), **options)


@command.command("trace")
@click.argument("long_file", type=FILE)
@click.argument("short_file", type=FILE)
@click.option("--again", "again_file", type=FILE, help="Trace of several lights, close together.")
@click.option("--on", "long_on", type=SECONDS, default=8.0, show_default=True, help="Lamp-on seconds of the long light.")
@click.option("--short-on", type=SECONDS, default=0.25, show_default=True, help="Of the short one.")
@click.option("--again-on", type=SECONDS, default=2.0, show_default=True, help="Of each of the several.")
@use_option
@keep_option
@json_option
def trace(
    long_file: Path,
    short_file: Path,
    again_file: Path | None,
    long_on: float,
    short_on: float,
    again_on: float,
    use: str,
    keep: bool,
    as_json: bool,
) -> None:
    """The response from a light sensor's traces: CSV of seconds and light, with some dark before and after the light.

    The sensor must see what the paper sees, so a filter of that colour over it: blue for graded paper, and red, green
    and blue in turn for the layers of colour paper (--use red, and so on). A lux meter reads another lamp than paper does.

    \b
    Example:
      lamphouse calibrate trace long.csv short.csv --again again.csv \\
          --use graded --keep
    """
    from timer.app.lamp_traces import from_traces

    if again_file is None and was_given("again_on"):
        raise click.UsageError("--again-on is for a trace of several lights: give it with --again")
    traced = from_traces(long_file, long_on, short_file, short_on, again_file, again_on)
    _tell(traced.response, use, keep, as_json, traced.notes, warm=again_file is not None)
    if not as_json:
        for rest, less in traced.starts if traced.response.lag > INSTANT_S else ():
            click.echo(f"after {rest:5.2f} s of rest a start loses {round(less * 1000, 1) + 0.0:5.1f} ms less than cold")


def _tell(
    found: LampResponse, use: str, keep: bool, as_json: bool, notes: tuple[str, ...] = (), *, warm: bool = False
) -> None:
    """``notes`` say what is not sure; ``warm``: starts after a short rest were measured too."""
    from timer.app.keep_lamp import keep_response, response_toml

    name = "" if use == "graded" else use
    path = keep_response(found, name) if keep else None
    if as_json:
        data = {"delay_ms": round(found.delay * 1000, 1), "rise_ms": round(found.rise * 1000, 1)}
        warmth = {"less_ms": round(found.less * 1000, 1), "recovery_s": round(found.recovery, 3)}
        echo_json(data | warmth | {"use": use, "notes": list(notes)})
        return
    click.echo(f"Written to {path}:" if path else "Put this into the settings, or say --keep:")
    click.echo(f"\n{response_toml(found, name)}")
    click.echo(f"Cold, every exposure loses {found.lag * 1000:.1f} ms.")
    if found.lag > INSTANT_S and not found.less:
        click.echo(
            "After a short rest it loses as much as cold, as far as could be measured."
            if warm
            else "How a warm filament loses less is not measured; short rests then print a little darker."
        )
    for note in notes:
        click.echo(note)


@command.command("dose")
@click.option("--seconds", type=SECONDS, default=10.0, show_default=True, help="Of full light, as a run times it.")
@click.option("--port", metavar="PORT", default="", help="The controller's serial port, if it is not found by itself.")
@json_option
def by_dose(seconds: float, port: str, as_json: bool) -> None:
    """The light sensor of a controller: counts for a second of full light. No paper out; the lamp is lit for the time.

    Calibrate the lamp first: what it loses at the start, cold or warm, is made up for by its response.

    \b
    Example:
      lamphouse calibrate dose --seconds 10
    """
    from timer.app.lamp_calibration import count
    from timer.plans.lamp_calibration import COLD_S

    found = count(seconds, port)
    per_s = found.counts / seconds
    note = ""
    if not found.calibrated:
        note = "The lamp is not calibrated: what it loses at the start was counted as if it were light."
    elif found.lamp.lag > INSTANT_S and not found.lamp.less:
        note = f"This is for a lamp that was dark for {COLD_S} s before: how less is lost by a warm one is not calibrated."
    if as_json:
        echo_json({"counts": found.counts, "counts_per_s": per_s, "notes": [note] if note else []})
        return
    click.echo(f"Put this into the settings:\n\ncounts_per_s = {per_s:.1f}")
    if note:
        click.echo(note)
