"""``lamphouse bench``: lamps that behave, without a lamp."""

from pathlib import Path

import click

from timer.cli.options import Finite, json_option
from timer.cli.show import echo_json

NAMES = ("halogen-12v-100w", "halogen-24v-150w", "halogen-24v-250w", "opal-230v-75w", "led", "cold-light")


@click.group("bench")
def command() -> None:
    """The virtual darkroom's lamps, and a pedal.

    \b
    Example:
      lamphouse bench bursts --lamp halogen-24v-250w --bursts 8 --seconds 1 --gap 2
    """


@command.command("bursts")
@click.option("--lamp", type=click.Choice(NAMES), default="halogen-24v-250w", show_default=True)
@click.option("--bursts", "count", type=click.IntRange(1, 60), default=8, show_default=True)
@click.option("--seconds", type=Finite(min=0.05, max=120), default=1.0, show_default=True, help="Of each burst.")
@click.option("--gap", type=Finite(min=0.1, max=600), default=2.0, show_default=True, help="Dark between bursts.")
@click.option("--corrected", is_flag=True, help="With the lamp-on times that a calibrated response asks for.")
@json_option
def bursts(lamp: str, count: int, seconds: float, gap: float, corrected: bool, as_json: bool) -> None:
    """Several bursts against one exposure of the same seconds: the difference on paper, in stops.

    \b
    Example:
      lamphouse bench bursts --lamp halogen-12v-100w --bursts 8 --seconds 1 --gap 2 --corrected
    """
    from timer.bench.lamps import bursts_against_one

    stops = bursts_against_one(lamp, count, seconds, gap, corrected=corrected)
    if as_json:
        echo_json({"lamp": lamp, "bursts": count, "seconds": seconds, "gap": gap, "corrected": corrected, "stops": stops})
        return
    how = "with corrected times" if corrected else "uncorrected"
    click.echo(f"{count} bursts of {seconds:g} s, {gap:g} s apart, against one of {count * seconds:g} s, {how}:")
    for use, value in stops.items():
        click.echo(f"  {use:8} {value:+.3f} stop")


@command.command("response")
@click.option("--lamp", type=click.Choice(NAMES), default="halogen-24v-250w", show_default=True)
@json_option
def show_response(lamp: str, as_json: bool) -> None:
    """What this lamp would be calibrated to, for each use. Yours differs: see `lamphouse calibrate`."""
    from timer.bench.lamps import USES, response_of

    found = {use: response_of(lamp, use) for use in USES}
    if as_json:
        echo_json({use: {"delay_ms": r.delay * 1000, "rise_ms": r.rise * 1000} for use, r in found.items()})
        return
    for use, r in found.items():
        click.echo(f"  {use:8} delay {r.delay * 1000:5.1f} ms   rise {r.rise * 1000:5.1f} ms")


@command.command("pedal")
@click.option("--at", "path", type=click.Path(path_type=Path), help="Where its wire ends; a name in a folder of ours else.")
def pedal(path: Path | None) -> int:
    """A footswitch without hardware: this terminal is the pedal, and shows what the simulated lamp does.

    Start it, then the screen (or a run) in another terminal, with the line that it shows. Enter is a short press, h a held
    one (dark now), q the end.

    \b
    Example:
      lamphouse bench pedal
    """
    from timer.cli.pedal import serve
    from timer.keeper.runtime import runtime_dir

    return serve(path or runtime_dir() / "pedal")
