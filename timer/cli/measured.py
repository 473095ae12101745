"""``lamphouse calibrations``: your own heads, boxes of paper and papers' curves, measured and kept, and what sheets have
taught of them."""

from pathlib import Path
from typing import Any

import click
import msgspec

from timer.app.calibrations import Taught, all_kept, keep_box, keep_head, remember
from timer.app.calibrations import forget as forget_kept
from timer.cli.group import Group
from timer.cli.kept_curves import curve_command, curve_text
from timer.cli.options import json_option, notebook_option
from timer.cli.show import echo_json
from timer.cli.values import NAME, Finite, Line
from timer.craft.heads import THREE_LIGHTS
from timer.craft.layers import LAYERS
from timer.craft.lights import COLOURS

POSITIVE = Finite("ratio", 0, 1000, above=True)


@click.group("calibrations", cls=Group)
def command() -> None:
    """Your own heads and papers: measured ones, used by `lamphouse resize` and others, and what sheets have taught, used by
    `solve`.

    \b
    Examples:
      lamphouse calibrations head condenser --from-m 6.7 --to-m 10.9 --ratio 2.1
      lamphouse calibrations box spring --time 1.08 --pack "-5M"
      lamphouse calibrations curve Pearl --grade 2
      lamphouse calibrations list
      lamphouse calibrations forget spring
    """


command.add_command(curve_command)


@command.command("head")
@click.argument("name", type=NAME)
@click.option("--from-m", type=POSITIVE, required=True, help="Magnification of the first print.")
@click.option("--to-m", type=POSITIVE, required=True, help="Magnification of the second, of the same density.")
@click.option("--ratio", type=POSITIVE, required=True, help="Time of the second over time of the first, as found.")
def head(name: str, from_m: float, to_m: float, ratio: float) -> None:
    """Correct the print-size formula for head NAME, from two prints of one density at two sizes.

    \b
    Example:
      lamphouse calibrations head condenser --from-m 6.7 --to-m 10.9 --ratio 2.1
    """
    made = keep_head(name, from_m, to_m, ratio)
    click.echo(f"{name}: {made.note}. Exponent {made.exponent:.3f}, used by `lamphouse resize ... --head {name}`.")


@command.command("box", context_settings={"ignore_unknown_options": True})
@click.argument("name", type=NAME)
@click.option("--time", type=POSITIVE, required=True, help="Time on the new box over time on the old, as found.")
@click.option(
    "--pack", metavar="PACK", default="0", show_default=True, help="Change of pack that went with it, like '-5M 5Y'."
)
def box(name: str, time: float, pack: str) -> None:
    """Keep the difference of a new box of paper: the standard negative printed on both boxes in one session.

    \b
    Example:
      lamphouse calibrations box spring --time 1.08 --pack "-5M"
    """
    keep_box(name, time, pack)
    click.echo(f"box {name}: time x {time:g}, pack {pack}. Used by `lamphouse resize ... --box {name}`.")


@command.command("list")
@json_option
@notebook_option
def listing(as_json: bool, notebook_path: Path | None) -> None:
    """List all that are kept, and what the notebook's sheets have taught: numbers, their error, how many sheets.

    \b
    Example:
      lamphouse calibrations list
    """
    found = all_kept(notebook_path)
    kept, curves, taught = found.measured, found.curves, found.taught
    if as_json:
        data = {"curves": msgspec.to_builtins(curves), "learned": [_data(each) for each in taught]}
        echo_json(msgspec.to_builtins(kept) | data)
        return
    for name, head in kept.heads.items():
        click.echo(f"head {name}: exponent {head.exponent:.3f}  ({head.note})")
    for name, box in kept.boxes.items():
        click.echo(f"box {name}: time x {box.time:g}, pack {box.pack}")
    for curve in curves:
        click.echo(f"curve of {curve.name}: {curve_text(curve)}")
    for each in taught:
        click.echo("\n".join(_lines(each)))
    for name, time in kept.forgotten.items():
        click.echo(f"{name}: what was learned until {time[:16].replace('T', ' ')} is forgotten")
    if not (kept.heads or kept.boxes or kept.forgotten or curves or taught):
        click.echo("Nothing is measured yet.")


@command.command("forget")
@click.argument("name", type=Line(460))
@click.option("--undo", is_flag=True, help="Let what sheets have taught count again.")
@notebook_option
def forget(name: str, undo: bool, notebook_path: Path | None) -> None:
    """Forget a measured head, box or curve, or what sheets have taught until now, by its NAME in the list.

    \b
    Example:
      lamphouse calibrations forget "dichroic on colour paper"
    """
    if undo:
        remember(name)
        click.echo(f"{name}: what sheets have taught counts again.")
    else:
        click.echo(forget_kept(name, notebook_path))


def _lines(taught: Taught) -> list[str]:
    which, learned = taught.which, taught.learned
    box = f", box {which.box}" if which.box else ""
    kind = ", reversal" if taught.reversal else ""
    by = f", by {which.kind or 'densitometer'}"
    error = learned.error
    columns = COLOURS if which.head in THREE_LIGHTS else ("cyan", "magenta", "yellow")
    lines = [
        f"{which.name}{box}{kind}{by}: {taught.says}",
        "  layer  " + "".join(f"{name:14}" for name in columns) + "slope",
    ]
    for j, layer in enumerate(LAYERS):
        cells = [f"{learned.head[j, k]:5.2f} ± {error[3 * j + k]:.2f}" for k in range(3)]
        cells.append(f"{learned.slope[j]:5.2f} ± {error[9 + j] * learned.slope[j]:.2f}")
        lines.append(f"  {layer:6} " + "".join(f"{cell:14}" for cell in cells).rstrip())
    if learned.odd:
        lines.append(f"  contradicted what was known before: sheets {', '.join(map(str, learned.odd))}")
    return lines


def _data(taught: Taught) -> dict[str, Any]:
    which = taught.which
    own = {"name": which.name, "head_kind": which.head, "head_name": which.named, "paper": which.paper, "box": which.box}
    return {**own, "read_with": which.kind or "densitometer", "reversal": taught.reversal, **taught.data()}
