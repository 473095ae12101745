"""``lamphouse bench``: modelled lamps, and a pedal at the keyboard."""

from pathlib import Path
from typing import get_args

import click

from timer.cli.group import Group
from timer.cli.options import json_option
from timer.cli.show import echo_json
from timer.cli.values import FILE, Finite, Whole
from timer.documents.settings import Bulb

NAMES = tuple(name for name in get_args(Bulb) if name != "instant")
USES = ("graded", "soft", "hard", "blue", "green", "red")
lamp_choice = click.option(
    "--lamp",
    metavar="BULB",
    type=click.Choice(NAMES),
    default="halogen-24v-250w",
    show_default=True,
    help=f"{', '.join(NAMES[:-1])} or {NAMES[-1]}.",
)
mains_option = click.option(
    "--mains",
    type=Finite("ratio", 0.8, 1.2),
    default=1.0,
    show_default=True,
    help="Supply over the rated: 0.9 is 10 % low.",
)


@click.group("bench", cls=Group)
def command() -> None:
    """The virtual darkroom's lamps, and a pedal.

    \b
    Example:
      lamphouse bench bursts --lamp halogen-24v-250w --bursts 8 --seconds 1 \\
          --gap 2
    """


@command.command("bursts")
@lamp_choice
@click.option("--bursts", "count", type=Whole("number", 1, 60), default=8, show_default=True, help="How many.")
@click.option("--seconds", type=Finite("seconds", 0.05, 120), default=1.0, show_default=True, help="Of each burst.")
@click.option(
    "--gap", type=Finite("seconds", 0.1, 600), default=2.0, show_default=True, help="Seconds of dark between bursts."
)
@click.option("--corrected", is_flag=True, help="Timed as a run on a calibrated lamp times them.")
@mains_option
@json_option
def bursts(lamp: str, count: int, seconds: float, gap: float, corrected: bool, mains: float, as_json: bool) -> None:
    """Several bursts against one exposure of the same seconds: the difference on paper, in stops.

    Corrected is what runs do: each time is for the rest since the lamp was last on. Graded, soft and hard paper have a
    response each. Colour paper has one for its three layers, so short bursts shift its colour: see its own line.

    \b
    Example:
      lamphouse bench bursts --lamp halogen-12v-100w --bursts 8 --seconds 1 \\
          --gap 2 --corrected
    """
    from timer.bench.lamps import COLOUR_BY, bursts_against_one
    from timer.craft.layers import LAYERS, shift_cc

    stops = bursts_against_one(lamp, count, seconds, gap, corrected=corrected, mains=mains)
    colour = bursts_against_one(lamp, count, seconds, gap, corrected=corrected, timed_by=COLOUR_BY, mains=mains)
    three = {layer: colour[layer] for layer in LAYERS}
    if as_json:
        asked = {"lamp": lamp, "bursts": count, "seconds": seconds, "gap": gap, "corrected": corrected, "mains": mains}
        echo_json(asked | {"stops": stops, "colour_paper": three, "colour_shift_cc": shift_cc(tuple(three.values()))})
        return
    how = "with corrected times" if corrected else "uncorrected"
    click.echo(f"{count} bursts of {seconds:g} s, {gap:g} s apart, against one of {count * seconds:g} s, {how}:")
    for use, value in stops.items():
        own = ", timed by its own response" if corrected and use in LAYERS else ""
        click.echo(f"  {use:8} {value:+.3f} stop{own}")
    if corrected:
        layers = "   ".join(f"{layer} {value:+.3f}" for layer, value in three.items())
        click.echo(f"  colour paper, all timed by {COLOUR_BY}: {layers}: {shift_cc(tuple(three.values())):.1f} CC apart")


@command.command("trace")
@lamp_choice
@click.option(
    "--band", type=click.Choice(USES), default="graded", show_default=True, help="The colour that the sensor sees."
)
@click.option("--on", type=Finite("seconds", 0.05, 60), default=8.0, show_default=True, help="Seconds of each light.")
@click.option(
    "--rests",
    metavar="SECONDS,...",
    default="",
    help="Dark before each further light, like 0.5,1,3: several lights in one trace.",
)
@click.option(
    "--step",
    type=Finite("seconds", 0.0005, 0.05),
    default=0.002,
    show_default=True,
    help="Seconds between readings.",
)
@mains_option
@click.option("-o", "--output", type=FILE, help="Write it here (CSV); without it, it is shown.")
def trace(lamp: str, band: str, on: float, rests: str, step: float, mains: float, output: Path | None) -> None:
    """What a light sensor under the lens would record, as `lamphouse calibrate trace` reads it: seconds, light.

    \b
    Examples:
      lamphouse bench trace --on 8 -o long.csv
      lamphouse bench trace --on 2 --rests 0.5,1,3,8 -o again.csv
    """
    from timer.app.modelled_lamp import recording

    try:
        gaps = [float(part) for part in rests.split(",")] if rests else []
    except ValueError:
        gaps = [0.0]
    if not all(0.05 <= gap <= 60 for gap in gaps):
        raise click.UsageError(f"--rests are seconds of dark from 0.05 to 60, like 0.5,1,3, not {rests!r}")
    text = recording(lamp, band, on, gaps, step_s=step, mains=mains, output=output)
    if output is None:
        click.echo(text, nl=False)
        return
    click.echo(f"Written to {output}: {len(gaps) + 1} light{'s' if gaps else ''} of {on:g} s.")


@command.command("response")
@lamp_choice
@json_option
def show_response(lamp: str, as_json: bool) -> None:
    """What this lamp would be calibrated to, for each use. Yours differs: see `lamphouse calibrate`.

    \b
    Example:
      lamphouse bench response --lamp halogen-12v-100w
    """
    from timer.bench.lamps import USES, response_of

    found = {use: response_of(lamp, use) for use in USES}
    if as_json:
        rows = ((use, r.delay * 1000, r.rise * 1000, r.less * 1000, r.recovery) for use, r in found.items())
        echo_json(
            {use: {"delay_ms": d, "rise_ms": up, "less_ms": less, "recovery_s": back} for use, d, up, less, back in rows}
        )
        return
    for use, r in found.items():
        warm = f"   warm: less {r.less * 1000:5.1f} ms, recovery {r.recovery:.2f} s" if r.less else ""
        click.echo(f"  {use:8} delay {r.delay * 1000:5.1f} ms   rise {r.rise * 1000:5.1f} ms{warm}")


@command.command("pedal")
@click.option("--at", "path", type=FILE, help="File name of the pedal's socket; without it, one is chosen.")
def pedal(path: Path | None) -> int:
    """A footswitch without hardware: this terminal is the pedal, and shows what the simulated lamp does.

    Start it, then the screen (or a run) in another terminal, with the line that it shows. Enter is a short press, h a held
    one (dark now), q the end.

    \b
    Example:
      lamphouse bench pedal
    """
    from timer.app.lamp import pedal_socket
    from timer.cli.pedal import serve

    return serve(path or pedal_socket())
