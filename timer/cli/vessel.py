"""``lamphouse vessel``: your drums and trays, measured once."""

from contextlib import suppress

import click
import msgspec

from timer.app import vessels
from timer.cli.group import Group
from timer.cli.options import json_option
from timer.cli.show import echo_json
from timer.cli.values import NAME, Finite
from timer.craft.vessels import EVEN, Drum, Tray, Vessel, wets

LEAST = Finite("ml", 0, 20_000, above=True)


def as_mm(ctx: click.Context, param: click.Parameter, value: str | tuple[str, ...]) -> float | tuple[float, ...]:
    """Callback of an option that takes lengths: ``350``, ``350mm``, ``35cm`` or ``13.8in``."""
    return _mm(value) if isinstance(value, str) else tuple(_mm(each) for each in value)


def _mm(text: str) -> float:
    plain = text.strip().lower().replace(" ", "")
    for unit, factor in (("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("", 1.0)):
        if plain.endswith(unit):
            with suppress(ValueError):
                return float(plain.removesuffix(unit)) * factor
    raise click.BadParameter(f"{text!r} is not a length; write it like 350, 35cm or 13.8in")


least_option = click.option(
    "--least", type=LEAST, help="The least that wets it evenly, as you found; without it, calculated from its measures."
)


@click.group("vessel", cls=Group)
def command() -> None:
    """Your drums and trays, measured once: what fits, which way, and how much wets it evenly.

    \b
    Examples:
      lamphouse vessel drum tube --length 345 --round 28.5cm
      lamphouse vessel tray big --bottom 32cm 43cm
      lamphouse vessel fit 10x12in
      lamphouse bath volume --sheet 10x12in --vessel tube
    """


@command.command("drum")
@click.argument("name", type=NAME)
@click.option("--length", metavar="LENGTH", callback=as_mm, required=True, help="Inside, lid on, between the lips.")
@click.option(
    "--round",
    "around",
    metavar="LENGTH",
    callback=as_mm,
    required=True,
    help="Inner circumference: a strip of paper laid round it.",
)
@least_option
def drum(name: str, length: float, around: float, least: float | None) -> None:
    """Measure a drum and keep it.

    \b
    Example:
      lamphouse vessel drum tube --length 345 --round 28.5cm
    """
    _keep(Drum(name, length, around, least))


@command.command("tray")
@click.argument("name", type=NAME)
@click.option(
    "--bottom", metavar="LENGTH LENGTH", callback=as_mm, nargs=2, required=True, help="The two sides of its bottom, inside."
)
@least_option
def tray(name: str, bottom: tuple[float, float], least: float | None) -> None:
    """Measure a tray and keep it.

    \b
    Example:
      lamphouse vessel tray big --bottom 32cm 43cm
    """
    _keep(Tray(name, min(bottom), max(bottom), least))


def _keep(vessel: Vessel) -> None:
    vessels.keep(vessel)
    whose = "your own measure" if vessel.least is not None else "calculated"
    click.echo(f"Kept: {vessel}. {wets(vessel):.0f} ml wet it evenly ({whose}).")


@command.command("drop")
@click.argument("name", type=NAME)
def drop(name: str) -> None:
    """Remove NAME.

    \b
    Example:
      lamphouse vessel drop tube
    """
    vessels.forget(name)
    click.echo(f"{name} is removed.")


@command.command("list")
@json_option
def listing(as_json: bool) -> None:
    """List the vessels that are kept.

    \b
    Example:
      lamphouse vessel list
    """
    kept = vessels.kept()
    if as_json:
        echo_json([msgspec.to_builtins(v) | {"kind": v.kind, "wets_ml": round(wets(v), 1)} for v in kept.values()])
        return
    for vessel in kept.values():
        click.echo(f"{vessel}: {wets(vessel):.0f} ml wet it evenly")
    if not kept:
        click.echo("None is measured yet: lamphouse vessel drum --help, lamphouse vessel tray --help")


@command.command("fit")
@click.argument("sheet")
@json_option
def fits(sheet: str, as_json: bool) -> None:
    """Where a SHEET fits, how many at once, and which way.

    \b
    Example:
      lamphouse vessel fit 12x16in
    """
    found = vessels.fits(sheet)
    if as_json:
        echo_json({vessel.name: {"count": each.count, "way": each.way} for vessel, each in found})
        return
    for vessel, each in found:
        way = f", {each.way}" if each.way else ""
        click.echo(f"{vessel}: " + (f"{each.count} at once{way}" if each.count else f"too small for {sheet}"))


@command.command("even")
@click.argument("name", type=NAME)
def even(name: str) -> None:
    """What to do against uneven development in NAME (or drum, or tray), and the time that it costs.

    \b
    Example:
      lamphouse vessel even tube
    """
    click.echo("\n".join(f"- {line}" for line in EVEN["drum" if vessels.kind_of(name) == "drum" else "tray"]))
