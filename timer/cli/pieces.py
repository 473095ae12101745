"""``lamphouse ring``, ``lamphouse ladder``, ``lamphouse drydown``: several settings on one sheet."""

from typing import Any

import click

from timer.cli.filters import head_option
from timer.cli.options import SECONDS, Finite, run_options
from timer.craft import filters as f
from timer.errors import Refused
from timer.pieces import dry_down_plan, packs_plan
from timer.plan import Plan

pack_option = click.option("--pack", required=True, help="The pack to begin from, like '60M 50Y'.")
seconds_option = click.option("--seconds", type=SECONDS, required=True, help="The time that goes with it.")


@click.command("ring")
@pack_option
@seconds_option
@click.option("--size", type=Finite(min=1, max=60), default=10.0, show_default=True, help="CC of each cast.")
@head_option
@run_options
def ring_command(pack: str, seconds: float, size: float, head: str | None, **options: Any) -> int:
    """A ring-around on one sheet: as it is, and a cast towards each of six colours, all of one density.

    \b
    Example:
      lamphouse ring --pack "60M 50Y" --seconds 10 --head dial --show
    """
    try:
        before, _ = f.resolve(f.parse_pack(pack))
    except ValueError as error:
        raise Refused(str(error)) from None
    return _carry_out(packs_plan(f"ring around {before}", f.ring(before, size), seconds, head or ""), options)


@click.command("ladder")
@pack_option
@seconds_option
@click.option("--along", type=click.Choice(list("CMYRGB")), required=True, help="The colour that is stepped.")
@click.option("--amounts", default="-10,-5,0,5,10", show_default=True, help="CC, with commas; 0 is the pack as it is.")
@head_option
@run_options
def ladder_command(pack: str, seconds: float, along: str, amounts: str, head: str | None, **options: Any) -> int:
    """Several amounts of one colour on one sheet, all of one density.

    \b
    Example:
      lamphouse ladder --pack "60M 50Y" --seconds 10 --along M --amounts -10,-5,0,5,10 --head dial --show
    """
    try:
        steps = tuple(float(part) for part in amounts.split(","))
    except ValueError:
        raise click.UsageError(f"--amounts {amounts!r} is not a row of numbers; write it like -10,-5,0,5,10") from None
    if not 2 <= len(steps) <= 24 or not all(abs(s) <= 100 for s in steps):
        raise click.UsageError("--amounts takes 2 to 24 numbers of CC, each between -100 and 100")
    try:
        before, _ = f.resolve(f.parse_pack(pack))
    except ValueError as error:
        raise Refused(str(error)) from None
    # Times are matched to the pack as it is, whether or not it is on the ladder itself.
    rungs = f.ladder(before, along, (0.0, *steps))
    plan = packs_plan(f"ladder of {along} on {before}", rungs, seconds, head or "")
    return _carry_out(plan if 0 not in steps else _without_first(before, rungs, seconds, head or "", along), options)


def _without_first(pack: f.Pack, rungs: list[tuple[str, f.Pack]], seconds: float, head: str, along: str) -> Plan:
    """The ladder already has the pack as it is: put it first, once, since it sets the density."""
    row = [rungs[0]] + [rung for rung in rungs[1:] if rung[1] != pack]
    return packs_plan(f"ladder of {along} on {pack}", row, seconds, head)


@click.command("drydown")
@seconds_option
@run_options
def drydown_command(seconds: float, **options: Any) -> int:
    """The set that finds a paper's dry-down: a reference, and prints of 8 to 12 % less.

    \b
    Example:
      lamphouse drydown --seconds 12 --show
    """
    return _carry_out(dry_down_plan(seconds), options)


def _carry_out(plan: Plan, options: dict[str, Any]) -> int:
    from timer.cli.console import carry_out_within_limits

    return carry_out_within_limits(plan, **options)
