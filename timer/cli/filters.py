"""``lamphouse pack`` and ``lamphouse cast``."""

from typing import Any, NoReturn

import click

from timer.cli.options import SECONDS, Finite, json_option
from timer.cli.show import echo_json
from timer.craft import filters as f
from timer.errors import Refused
from timer.move import pack_change

head_option = click.option(
    "--head", type=click.Choice(["gel", "dial"]), help="Filter sheets, or a dichroic head's dials: they differ a lot."
)


def as_dict(pack: f.Pack) -> dict[str, float]:
    return {"c": pack.c, "m": pack.m, "y": pack.y}


@click.command("pack", context_settings={"ignore_unknown_options": True})
@click.argument("pack")
@click.option("--to", "wanted", help="Another pack, to find the time for.")
@click.option("--seconds", type=SECONDS, help="The time that goes with PACK.")
@head_option
@json_option
def pack_command(pack: str, wanted: str | None, seconds: float | None, head: str | None, as_json: bool) -> None:
    """PACK with neutral density taken out and nothing below zero; with --to, the time for another.

    \b
    Examples:
      lamphouse pack "46Y 38M 12C"
      lamphouse pack "40M 60Y" --to "50M 60Y" --seconds 10 --head dial
    """
    try:
        sheets = f.parse_sheets(pack)
        resolved, neutral = f.resolve(f.pack_of(sheets))
        data: dict[str, Any] = {"pack": as_dict(resolved), "neutral_removed": neutral}
        says = [
            f"{resolved}" + (f"  ({abs(neutral):g} neutral {'taken out' if neutral > 0 else 'put in'})" if neutral else "")
        ]
        if wanted is None and (seconds is not None or head):
            raise ValueError("--seconds and --head go with --to PACK")
        if wanted is not None:
            if seconds is None:
                raise ValueError("say the time that goes with the first pack: --seconds 10")
            factor, how = _sheet_change(sheets, f.parse_sheets(wanted), head)
            after, gone = f.resolve(f.parse_pack(wanted))
            data |= {"to": as_dict(after), "to_neutral_removed": gone, "factor": factor, "seconds": seconds * factor}
            says.append(f"to {after} on {head}: x {factor:.3f}{how}, {seconds:g} s become {seconds * factor:.2f} s")
    except ValueError as error:
        _refuse(error)
    if as_json:
        echo_json(data)
    else:
        click.echo("\n".join(says))


def _sheet_change(old: tuple[f.Sheet, ...], new: tuple[f.Sheet, ...], head: str | None) -> tuple[float, str]:
    """Gels as they are stacked, R, G and B with their own factors; dials, and below zero, as resolved packs."""
    if head == "gel" and all(sheet.amount >= 0 for sheet in (*old, *new)):
        factor, between = f.gel_change(old, new)
        return factor, ", interpolated between published rows" if between else ""
    return pack_change(f.resolve(f.pack_of(old))[0], f.resolve(f.pack_of(new))[0], head or "")


@click.command("cast")
@click.argument("cast", type=click.Choice(["red", "green", "blue", "cyan", "magenta", "yellow"]))
@click.option("--amount", default="slight", show_default=True, help=f"{', '.join(f.AMOUNTS)}, or CC of pack change.")
@click.option("--viewing", type=Finite(min=1, max=100), help="The viewing filter that makes it look right.")
@click.option("--pack", required=True, help="The pack of this print, like '60M 50Y'.")
@click.option("--seconds", type=SECONDS, required=True, help="The time of this print.")
@head_option
@click.option("--reversal", is_flag=True, help="Prints from slides, on reversal paper: the other way about.")
@json_option
def cast_command(
    cast: str,
    amount: str,
    viewing: float | None,
    pack: str,
    seconds: float,
    head: str | None,
    reversal: bool,
    as_json: bool,
) -> None:
    """A print that is too CAST: which way to turn the filters, how far, and the time for it.

    \b
    Examples:
      lamphouse cast green --amount slight --pack "0C 60M 50Y" --seconds 10 --head dial
      lamphouse cast red --viewing 20 --pack "60M 50Y" --seconds 10 --head gel
    """
    try:
        size = f.from_viewing(viewing) if viewing else _amount(amount)
        before, _ = f.resolve(f.parse_pack(pack))
        data = corrected(cast, size, before, seconds, head or "", reversal=reversal)
    except ValueError as error:
        _refuse(error)
    if as_json:
        echo_json({**data, "pack": as_dict(data["pack"])})
    else:
        click.echo(data["say"])


def corrected(cast: str, size: float, before: f.Pack, seconds: float, head: str, *, reversal: bool) -> dict[str, Any]:
    """What to say, the new pack, the factor and the time. ValueError when the head is not known."""
    after, neutral = f.resolve(before + f.correction(cast, size, reversal=reversal))
    factor, how = pack_change(before, after, head)
    material = "reversal material" if reversal else "negative-positive paper"
    moves = [
        f"{abs(new - old):g} {ink} {'in' if new > old else 'out'}"
        for ink, old, new in (
            ("cyan", before.c, after.c),
            ("magenta", before.m, after.m),
            ("yellow", before.y, after.y),
        )
        if new != old
    ]
    crossed = f" ({-neutral:g} could not be taken out, so its complement goes in)" if neutral < 0 else ""
    say = (
        f"Too {cast}, on {material}: {' and '.join(moves)}{crossed}, so {after}; "
        f"time {seconds:g} s x {factor:.3f} = {seconds * factor:.1f} s on {head}{how}."
    )
    return {"say": say, "pack": after, "factor": factor, "seconds": seconds * factor}


def _amount(text: str) -> float:
    if text in f.AMOUNTS:
        return f.AMOUNTS[text]
    try:
        amount = float(text)
    except ValueError:
        amount = float("nan")
    if not 0 < amount <= 100:
        raise ValueError(f"{text!r} is no amount of a cast; say {', '.join(f.AMOUNTS)}, or a number of CC up to 100")
    return amount


def _refuse(error: ValueError) -> NoReturn:
    raise Refused(str(error)) from None
