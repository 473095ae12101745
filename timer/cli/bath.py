"""``lamphouse bath``: volumes, chemistry, processes, and their clock at the console."""

import sys
import time
from pathlib import Path

import click
import msgspec

from timer.app import chemistry
from timer.app.processes import every_process, follows_temperature, process_at
from timer.cli.group import Group
from timer.cli.options import json_option, notebook_option
from timer.cli.plain_stream import act
from timer.cli.show import echo_json
from timer.cli.values import NAME, Finite, Whole
from timer.craft.processing import Bath, Drain, parts, parts_text, total_seconds
from timer.craft.vessels import CARE, EVEN
from timer.errors import Refused
from timer.notebook.rows import Chemistry

ML = Finite("ml", 0, 50_000, above=True)


@click.group("bath", cls=Group)
def command() -> None:
    """Baths: volumes, times, exhaustion. Gloves or tongs for every bath, eye protection, fresh air; the leaflet first.

    \b
    Examples:
      lamphouse bath volume --sheet 10x12in --vessel drum
      lamphouse bath mix developer --ml 1000 --capacity 14
      lamphouse bath run ra4-drum
    """


@command.command("volume")
@click.option("--sheet", metavar="SIZE", required=True, help="Like 12x16in or 30x40cm.")
@click.option("--sheets", "count", type=Whole("number", 1, 100), default=1, show_default=True, help="How many at once.")
@click.option(
    "--vessel", metavar="NAME", help="Your own drum or tray by its name; or the word drum or tray, for a usual one."
)
@click.option("--process", metavar="NAME", help="Use vessel and ml of this process of yours, instead of --vessel.")
@click.option("--per-8x10", "per_unit", type=ML, help="ml that a sheet of 8x10 uses up, from your leaflet.")
@click.option("--least", type=ML, help="The least that wets your drum or tray evenly, ml.")
@json_option
def show_volume(
    sheet: str,
    count: int,
    vessel: str | None,
    process: str | None,
    per_unit: float | None,
    least: float | None,
    as_json: bool,
) -> None:
    """Solution for sheets in a drum or tray: what wets them evenly, and what they use up.

    \b
    Examples:
      lamphouse bath volume --sheet 10x12in --vessel drum
      lamphouse bath volume --sheet 5x7in --sheets 2 --vessel tube
    """
    from timer.app.vessels import KINDS, solution
    from timer.craft.vessels import USED_UP_ML

    if (vessel is None) == (process is None):
        raise click.UsageError("say --vessel drum, --vessel tray or the name of your own, or --process NAME")
    found, made, way = solution(sheet, count, vessel, process, per_unit, least)
    if as_json:
        data = {"ml": made.ml, "wets_ml": round(made.wets, 1), "uses_ml": round(made.uses, 1)}
        echo_json(data | {"area_8x10": round(made.area, 4), "vessel": found.name, "way": way, "why": made.why})
        return
    click.echo(f"{made.ml:.0f} ml into {found.name}{f', {way}' if way else ''}: {made.why}.")
    if vessel in KINDS:
        click.echo("Measure your own once for exact figures: lamphouse vessel --help")
    if per_unit is None:
        click.echo(
            f"{USED_UP_ML:g} ml for a sheet are a starting point from common practice; --per-8x10 takes your leaflet's."
        )


@command.command("parts")
@click.argument("ratio")
@click.option("--ml", type=ML, required=True, help="In all.")
@json_option
def mixing(ratio: str, ml: float, as_json: bool) -> None:
    """What to measure for a bath of RATIO, like 1+4.

    \b
    Example:
      lamphouse bath parts 1+4 --ml 1000
    """
    try:
        amounts, shown = parts(ml, ratio), parts_text(ml, ratio)
    except ValueError as error:
        raise Refused(str(error)) from None
    if as_json:
        echo_json({"ml": amounts})
    else:
        click.echo(" + ".join(f"{amount} ml" for amount in shown))


@command.command("mix")
@click.argument("name", type=NAME)
@click.option("--ml", type=ML, required=True, help="How much was mixed, ml.")
@click.option("--capacity", type=Finite("sheets", 0, 10_000, above=True), help="How many sheets of 8x10 it is good for.")
@json_option
@notebook_option
def mix(name: str, ml: float, capacity: float | None, as_json: bool, notebook_path: Path | None) -> None:
    """Say that bath NAME is freshly mixed, and start counting its use.

    \b
    Example:
      lamphouse bath mix developer --ml 1000 --capacity 14
    """
    _tell([chemistry.mixed(notebook_path, name, ml, capacity)], as_json)


@command.command("use")
@click.argument("name", type=NAME)
@click.option("--sheet", metavar="SIZE", help="A sheet of this size went through.")
@click.option("--area", type=Finite("sheets", 0, 100, above=True), help="Or this part of an 8x10: a quarter piece is 0.25.")
@click.option("--sheets", "count", type=Whole("number", 1, 100), default=1, show_default=True, help="How many went through.")
@json_option
@notebook_option
def use(name: str, sheet: str | None, area: float | None, count: int, as_json: bool, notebook_path: Path | None) -> None:
    """Count paper that went through bath NAME; warns when it is nearly exhausted.

    \b
    Examples:
      lamphouse bath use developer --sheet 18x24cm
      lamphouse bath use developer --area 0.25 --sheets 3
    """
    if (sheet is None) == (area is None):
        raise click.UsageError("say --sheet 8x10in, or --area 0.25 for a test piece")
    _tell([chemistry.used(notebook_path, name, area if area is not None else sheet or "", count)], as_json)


@command.command("status")
@json_option
@notebook_option
def status(as_json: bool, notebook_path: Path | None) -> None:
    """List the mixed baths, and how much paper each has had.

    \b
    Example:
      lamphouse bath status
    """
    _tell(chemistry.standing(notebook_path), as_json)


def _refuse_idle_temperature(process: str, celsius: float | None) -> None:
    if celsius is not None and not follows_temperature(process):
        raise click.UsageError(f"--celsius would do nothing here: {process} has no bath with a temperature table")


def _tell(found: list[Chemistry], as_json: bool) -> None:
    if as_json:
        echo_json([{**msgspec.to_builtins(each), "warning": each.warning} for each in found])
        return
    for each in found:
        of = f" of {each.capacity:g}" if each.capacity is not None else ""
        click.echo(f"{each.name}: {each.ml:g} ml of {each.mixed[:10]}, {each.used:.2f}{of} sheets of 8x10")
        if each.warning:
            click.echo(f"  WARNING: {each.warning}")
    if not found:
        click.echo("Nothing is mixed.")


@command.command("list")
@json_option
def listing(as_json: bool) -> None:
    """List the processes: those that ship, and your own.

    \b
    Example:
      lamphouse bath list
    """
    found = every_process()
    if as_json:
        good = [{"name": name, "title": each.title, "source": each.source} for name, each in found.good.items()]
        echo_json([*good, *({"name": name, "error": says} for name, says in found.broken.items())])
        return
    for name, process in found.good.items():
        click.echo(f"{name:16} {process.title}  ({process.source})")
    for name, says in found.broken.items():
        click.echo(f"{name:16} NOT USABLE: {says}")


@command.command("show")
@click.argument("process")
@click.option("--celsius", type=Finite("°C", 0, 100), help="Temperature of the baths that have a temperature table.")
@json_option
def show(process: str, celsius: float | None, as_json: bool) -> None:
    """List the calls of PROCESS, bath by bath, with its sources.

    \b
    Example:
      lamphouse bath show ra4-tray --celsius 22
    """
    _refuse_idle_temperature(process, celsius)
    found, rows = process_at(process, celsius)
    if as_json:
        echo_json([{**msgspec.to_builtins(b), "calls": msgspec.to_builtins(c)} for b, c in rows])
        return
    click.echo(f"{found.title}: {found.source}\n{CARE}")
    for bath, each in rows:
        at = f", {bath.celsius:g} °C" if bath.celsius is not None else ""
        click.echo(f"\n{bath.name}: {bath.seconds:.0f} s{at}; {_draining(bath, found.drain)}")
        for call in each:
            click.echo(f"  {call.at:6.0f} s  {call.say}")
    when = "the last part of each bath's time" if found.drain == "inside" else "on top of each bath's time"
    click.echo(f"\nDraining is {when}.\nAgainst uneven development (in brackets the time that it costs):")
    click.echo("\n".join(f"- {line}" for line in EVEN[found.vessel]))


def _draining(bath: Bath, drain: Drain) -> str:
    """How the draining of ``bath`` stands to its time, in words."""
    draining = bath.drains(drain)
    if drain == "inside":
        return f"the last {draining:g} s of it to drain"
    return f"{draining:g} s more to drain, {total_seconds(bath, drain):.0f} s in all"


@command.command("run")
@click.argument("process")
@click.option("--celsius", type=Finite("°C", 0, 100), help="Temperature of the baths that have a temperature table.")
@click.option(
    "--speed",
    type=Finite("times", 1, 1000),
    default=1.0,
    show_default=True,
    help="How much faster than real time, to try it out.",
)
@click.option("--hands-free", is_flag=True, help="Go on from bath to bath without Enter.")
def run(process: str, celsius: float | None, speed: float, hands_free: bool) -> None:
    """The clock of PROCESS at the console; the screen of `lamphouse` has it with voice and pedal (key z there).

    \b
    Example:
      lamphouse bath run ra4-drum --speed 20 --hands-free
    """
    _refuse_idle_temperature(process, celsius)
    _, rows = process_at(process, celsius)
    for bath, each in rows:
        if not hands_free:
            click.echo(f"{bath.name}: Enter when you pour")
            if not sys.stdin.readline():
                return
        began = time.monotonic()
        for call in each:
            time.sleep(max(0.0, began + call.at / speed - time.monotonic()))
            click.echo(f"  {call.at:6.0f} s  {call.say}")
            act(sys.stdout, "\a")
        if bath.light:
            click.echo("  white light allowed, if the paper box is shut")
    click.echo("over")
