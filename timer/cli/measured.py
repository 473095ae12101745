"""``lamphouse calibrations``: your own heads, boxes of paper and papers' curves, measured and kept."""

import click
import msgspec

from timer.cli.kept_curves import curve_command, curve_text
from timer.cli.options import Finite, Line, json_option
from timer.cli.show import echo_json
from timer.craft.enlargement import exponent_from, size_factor
from timer.craft.filters import parse_pack
from timer.craft.heads import HEADS
from timer.documents.calibrations import BoxMeasured, HeadMeasured, load_corrections, save_corrections
from timer.documents.paper_curves import curves_file, load_curves
from timer.documents.settings import folder
from timer.errors import Refused

POSITIVE = Finite(min=0, min_open=True, max=1000)


@click.group("calibrations")
def command() -> None:
    """Calibrations of your own heads, boxes of paper and papers' curves, used by `lamphouse resize` and others.

    \b
    Examples:
      lamphouse calibrations head condenser --from-m 6.7 --to-m 10.9 --ratio 2.1
      lamphouse calibrations box spring --time 1.08 --pack "-5M"
      lamphouse calibrations curve Pearl --grade 2
    """


command.add_command(curve_command)


@command.command("head")
@click.argument("name", type=Line(60))
@click.option("--from-m", type=POSITIVE, required=True, help="Magnification of the first print.")
@click.option("--to-m", type=POSITIVE, required=True, help="Magnification of the second, of the same density.")
@click.option("--ratio", type=POSITIVE, required=True, help="Time of the second over time of the first, as found.")
def head(name: str, from_m: float, to_m: float, ratio: float) -> None:
    """Correct the print-size formula for head NAME, from two prints of one density at two sizes."""
    if name in HEADS:
        raise Refused(f"{', '.join(HEADS)} are kinds of heads; give yours a name of its own")
    try:
        exponent = exponent_from(from_m, to_m, ratio)
    except ValueError as error:
        raise Refused(str(error)) from None
    path = folder("config") / "corrections.toml"
    kept = load_corrections(path)
    note = f"x {ratio:g} from magnification {from_m:g} to {to_m:g}; the formula says x {size_factor(from_m, to_m):.3f}"
    save_corrections(path, msgspec.structs.replace(kept, heads=kept.heads | {name: HeadMeasured(exponent, note)}))
    click.echo(f"{name}: {note}. Exponent {exponent:.3f}, used by `lamphouse resize ... --head {name}`.")


@command.command("box", context_settings={"ignore_unknown_options": True})
@click.argument("name", type=Line(60))
@click.option("--time", type=POSITIVE, required=True, help="Time on the new box over time on the old, as found.")
@click.option("--pack", default="0", show_default=True, help="Change of pack that went with it, like '-5M 5Y'.")
def box(name: str, time: float, pack: str) -> None:
    """Keep the difference of a new box of paper: the standard negative printed on both boxes in one session."""
    try:
        parse_pack(pack)
    except ValueError as error:
        raise Refused(str(error)) from None
    if not 0.1 < time < 10:
        raise Refused(f"a time ratio of {time:g} between two boxes cannot be; 1.08 is 8 % more")
    path = folder("config") / "corrections.toml"
    kept = load_corrections(path)
    save_corrections(path, msgspec.structs.replace(kept, boxes=kept.boxes | {name: BoxMeasured(time, pack)}))
    click.echo(f"box {name}: time x {time:g}, pack {pack}. Used by `lamphouse resize ... --box {name}`.")


@command.command("list")
@json_option
def listing(as_json: bool) -> None:
    """List all that are kept."""
    kept = load_corrections(folder("config") / "corrections.toml")
    curves = load_curves(curves_file())
    if as_json:
        echo_json(msgspec.to_builtins(kept) | {"curves": msgspec.to_builtins(curves)})
        return
    for name, each in kept.heads.items():
        click.echo(f"head {name}: exponent {each.exponent:.3f}  ({each.note})")
    for name, measured in kept.boxes.items():
        click.echo(f"box {name}: time x {measured.time:g}, pack {measured.pack}")
    for curve in curves:
        click.echo(f"curve of {curve.name}: {curve_text(curve)}")
    if not (kept.heads or kept.boxes or curves):
        click.echo("Nothing is measured yet.")
