"""``lamphouse pack`` and ``lamphouse cast``."""

from typing import Any, NoReturn

import click

from timer.cli.heads import chosen, head_options
from timer.cli.options import json_option, refuse_idle
from timer.cli.show import echo_json
from timer.cli.values import SECONDS, Finite
from timer.craft import filters as colour_filters
from timer.craft import heads
from timer.craft.lights import COLOURS, Lights, amounts, as_pack
from timer.craft.stops import digits
from timer.documents.settings import Head
from timer.errors import Refused
from timer.plans.other_paper import setting_change
from timer.plans.recipe_change import times


def as_dict(setting: heads.Setting) -> dict[str, float]:
    """``setting`` for JSON: red, green and blue of three lights, or c, m and y in CC."""
    if isinstance(setting, Lights):
        return dict(zip(COLOURS, amounts(setting), strict=True))
    pack = heads.pack(setting)
    return {"c": pack.c, "m": pack.m, "y": pack.y}


@click.command("pack", context_settings={"ignore_unknown_options": True})
@click.argument("pack")
@click.option("--to", "wanted", metavar="PACK", help="Another pack, to find the time for.")
@click.option("--seconds", type=SECONDS, help="The time that goes with PACK as it is; of three in turn, the longest.")
@head_options
@json_option
def pack_command(
    pack: str,
    wanted: str | None,
    seconds: float | None,
    head: str | None,
    top: float | None,
    per_stop: float | None,
    as_json: bool,
) -> None:
    """PACK with neutral density taken out and nothing below zero, and the time for it; with --to, for another pack.

    \b
    Examples:
      lamphouse pack "46Y 38M 12C" --seconds 10 --head dichroic
      lamphouse pack "40M 60Y" --to "50M 60Y" --seconds 10 --head dichroic
      lamphouse pack "R80 G60 B50" --to "R80 G70 B50" --seconds 10 --head additive
    """
    try:
        this = chosen(head, top, per_stop)
        old = heads.parse_setting(pack, this.kind, this.per_stop)
        resolved, neutral = heads.plain(old)
        data: dict[str, Any] = {"pack": as_dict(resolved), "neutral_removed": neutral}
        says = [heads.text_of(resolved) + _neutral(neutral)]
        if isinstance(old, Lights):
            says[0] += f", as filters {as_pack(old)}"
        new, gone = resolved, 0.0
        if wanted is not None:
            new, gone = heads.plain(heads.parse_setting(wanted, this.kind, this.per_stop))
            data |= {"to": as_dict(new), "to_neutral_removed": gone}
            if seconds is None and this.kind != "tricolour":
                raise ValueError("say the time that goes with the first pack: --seconds 10")
        heads.within(new, this.kind, this.top)
        if seconds is not None or (wanted is not None and this.kind == "tricolour"):
            made = _retimed(old, new, seconds, this)
            data |= {key: made[key] for key in ("factor", "seconds")}
            data |= {"to": made["setting"]} if this.kind == "tricolour" and wanted else {}
            says.append(f"{heads.text_of(new)}{_neutral(gone)} on {heads.HEADS[this.kind]}: {made['say']}")
        elif neutral:
            says.append("its time changes with that: say --seconds (of the pack as it is) and --head to have it")
    except ValueError as error:
        _refuse(error)
    if as_json:
        echo_json(data)
    else:
        click.echo("\n".join(says))


def _neutral(neutral: float) -> str:
    return f"  ({abs(neutral):g} neutral density {'taken out' if neutral > 0 else 'put in'})" if neutral else ""


def _retimed(old: heads.Setting, new: heads.Setting, seconds: float | None, head: Head) -> dict[str, Any]:
    """The time for ``new`` where ``seconds`` go with ``old``, and what to say of it."""
    factor, how = setting_change(old, new, head.kind)
    if head.kind == "tricolour" and isinstance(old, Lights) and isinstance(new, Lights):
        scale = factor * (seconds / max(amounts(old)) if seconds else 1.0)
        red, green, blue = (amount * scale for amount in amounts(new))
        say = f"red {digits(red)} s, green {digits(green)} s, blue {digits(blue)} s"
        row = {"red": red, "green": green, "blue": blue}
        return {"factor": factor, "seconds": max(row.values()), "setting": row, "say": say}
    if seconds is None:
        raise ValueError("say the time that goes with the pack as it is: --seconds 10")
    say = f"{digits(seconds * factor)} s ({seconds:g} s {times(factor)}{how})"
    return {"factor": factor, "seconds": seconds * factor, "setting": as_dict(new), "say": say}


@click.command("cast")
@click.argument("cast", metavar="CAST", type=click.Choice(list(colour_filters.CASTS)))
@click.option(
    "--amount",
    metavar="CC",
    default="slight",
    show_default=True,
    help=f"{', '.join(colour_filters.AMOUNTS)}, or CC of pack change.",
)
@click.option("--viewing", type=Finite("CC", 1, 100), help="The viewing filter that makes it look right.")
@click.option(
    "--pack",
    metavar="PACK",
    required=True,
    help="The pack of this print, like '60M 50Y', or its lights, like 'R80 G60 B50'.",
)
@click.option("--seconds", type=SECONDS, help="The time of this print; of three exposures in turn, the longest.")
@head_options
@click.option("--reversal", is_flag=True, help="Print from a slide on reversal paper: the correction goes the other way.")
@json_option
def cast_command(
    cast: str,
    amount: str,
    viewing: float | None,
    pack: str,
    seconds: float | None,
    head: str | None,
    top: float | None,
    per_stop: float | None,
    reversal: bool,
    as_json: bool,
) -> None:
    """A print that is too CAST (red, yellow, green, cyan, blue or magenta): which way to turn the filters, how far, and the
    time for it.

    \b
    Examples:
      lamphouse cast magenta --amount slight --pack "0C 60M 50Y" --seconds 10 \\
          --head dichroic
      lamphouse cast red --viewing 20 --pack "60M 50Y" --seconds 10 --head cp
      lamphouse cast yellow --pack "R12 G8 B6.5" --head tricolour
    """
    if viewing:
        refuse_idle("--amount", "the viewing filter says how strong the cast is (--viewing)")
    try:
        size = colour_filters.from_viewing(viewing) if viewing else _amount(amount)
        this = chosen(head, top, per_stop)
        data = corrected(cast, size, heads.parse_setting(pack, this.kind, this.per_stop), seconds, this, reversal=reversal)
    except ValueError as error:
        _refuse(error)
    if as_json:
        echo_json(data)
    else:
        click.echo(data["say"])


def corrected(
    cast: str, size: float, before: heads.Setting, seconds: float | None, head: Head, *, reversal: bool
) -> dict[str, Any]:
    """What to say, the new pack, the factor and the time. ValueError when the head is not known or ends before."""
    change = colour_filters.correction(cast, size, reversal=reversal)
    after = heads.shifted(before, change, head.top)
    made = _retimed(before, after, seconds, head)
    material = "reversal material" if reversal else "negative-positive paper"
    if isinstance(after, Lights):
        pack = made["setting"]
        what = _lights(before, after)
        answer = f"{what}: {made['say']}" if head.kind == "tricolour" else f"{what}: levels {after}. Time {made['say']}"
    else:
        pack = as_dict(after)
        answer = f"{_filters(heads.pack(before), change)}: pack {after}. On {heads.HEADS[head.kind]} {made['say']}"
    return {
        "say": f"{answer}. (Too {cast}, on {material}.)",
        "pack": pack,
        "factor": made["factor"],
        "seconds": made["seconds"],
    }


def _filters(before: colour_filters.Pack, change: colour_filters.Pack) -> str:
    """What to add or subtract, and what that leaves neutral."""
    verb = "Add" if max(change.c, change.m, change.y) > 0 else "Subtract"
    size = colour_filters.Pack(abs(change.c), abs(change.m), abs(change.y))
    neutral = colour_filters.resolve(before + change)[1]
    if neutral < 0:
        names = zip(("cyan", "magenta", "yellow"), _cmy(before), _cmy(change), strict=True)
        lacks = [f"only {has:g} {name}" if has else f"no {name}" for name, has, by in names if has + by < 0]
        after = colour_filters.resolve(before + change)[0]
        moves = zip("CMY", _cmy(before), _cmy(after), strict=True)
        more = {ink: new - old for ink, old, new in moves if new != old}
        adds = " ".join(f"{by:g}{ink}" for ink, by in more.items() if by > 0)
        takes = " ".join(f"{-by:g}{ink}" for ink, by in more.items() if by < 0)
        ways = [f"{word} {parts}" for word, parts in (("add", adds), ("subtract", takes)) if parts]
        return f"The pack holds {' and '.join(lacks)} to subtract, so {' and '.join(ways)}"
    return f"{verb} {size}" + (f", and take {neutral:g} of neutral density out of all three" if neutral else "")


def _cmy(pack: colour_filters.Pack) -> tuple[float, float, float]:
    return pack.c, pack.m, pack.y


def _lights(before: heads.Setting, after: Lights) -> str:
    assert isinstance(before, Lights)
    moved = [
        f"{'more' if new > old else 'less'} {name}"
        for name, old, new in zip(COLOURS, amounts(before), amounts(after), strict=True)
        if new != old
    ]
    return (" and ".join(moved) or "no change").capitalize()


def _amount(text: str) -> float:
    if text in colour_filters.AMOUNTS:
        return colour_filters.AMOUNTS[text]
    try:
        amount = float(text)
    except ValueError:
        amount = float("nan")
    if not 0 < amount <= 100:
        raise ValueError(
            f"{text!r} is not an amount of a cast; say {', '.join(colour_filters.AMOUNTS)}, or a number of CC up to 100"
        )
    return amount


def _refuse(error: ValueError) -> NoReturn:
    raise Refused(str(error)) from None
