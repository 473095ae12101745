"""``lamphouse calibrations``: your own heads, boxes of paper and papers' curves, measured and kept, and what sheets have
taught of them."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
import msgspec

from timer.cli.group import Group
from timer.cli.kept_curves import curve_command, curve_text
from timer.cli.options import json_option, notebook_option
from timer.cli.show import echo_json
from timer.cli.values import NAME, Finite, Line
from timer.craft.enlargement import exponent_from, size_factor
from timer.craft.filters import parse_pack
from timer.craft.heads import HEADS
from timer.documents.calibrations import BoxMeasured, HeadMeasured, corrections_file, load_corrections, save_corrections
from timer.documents.paper_curves import curves_file, forget_curves, load_curves
from timer.errors import Refused

if TYPE_CHECKING:
    from timer.craft.learn import Learned
    from timer.measure.learned import Which

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
    if name in HEADS:
        raise Refused(f"{', '.join(HEADS)} are kinds of heads; give yours a name of its own")
    try:
        exponent = exponent_from(from_m, to_m, ratio)
    except ValueError as error:
        raise Refused(str(error)) from None
    path = corrections_file()
    kept = load_corrections(path)
    note = f"x {ratio:g} from magnification {from_m:g} to {to_m:g}; the formula says x {size_factor(from_m, to_m):.3f}"
    save_corrections(path, msgspec.structs.replace(kept, heads=kept.heads | {name: HeadMeasured(exponent, note)}))
    click.echo(f"{name}: {note}. Exponent {exponent:.3f}, used by `lamphouse resize ... --head {name}`.")


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
    try:
        parse_pack(pack)
    except ValueError as error:
        raise Refused(str(error)) from None
    if not 0.1 < time < 10:
        raise Refused(f"a time ratio of {time:g} between two boxes cannot be; 1.08 is 8 % more")
    path = corrections_file()
    kept = load_corrections(path)
    save_corrections(path, msgspec.structs.replace(kept, boxes=kept.boxes | {name: BoxMeasured(time, pack)}))
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
    kept = load_corrections(corrections_file())
    curves = load_curves(curves_file())
    found = _learned(notebook_path, kept.forgotten)
    if as_json:
        data = {"curves": msgspec.to_builtins(curves), "learned": [_data(*each) for each in found]}
        echo_json(msgspec.to_builtins(kept) | data)
        return
    for name, each in kept.heads.items():
        click.echo(f"head {name}: exponent {each.exponent:.3f}  ({each.note})")
    for name, measured in kept.boxes.items():
        click.echo(f"box {name}: time x {measured.time:g}, pack {measured.pack}")
    for curve in curves:
        click.echo(f"curve of {curve.name}: {curve_text(curve)}")
    for which, learned, sign in found:
        click.echo("\n".join(_lines(which, learned, sign)))
    for name, time in kept.forgotten.items():
        click.echo(f"{name}: what was learned until {time[:16].replace('T', ' ')} is forgotten")
    if not (kept.heads or kept.boxes or kept.forgotten or curves or found):
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
    kept = load_corrections(corrections_file())
    own = next((each for each in load_curves(curves_file()) if each.name == name), None)
    if own and not undo:
        forget_curves(curves_file(), own.paper, own.grade)
        click.echo(f"curve of {name} is forgotten.")
        return
    change: dict[str, Any] = {}
    if undo:
        change = {"forgotten": _less(kept.forgotten, name)} if name in kept.forgotten else {}
        said = f"{name}: what sheets have taught counts again."
    elif name in kept.heads:
        change, said = {"heads": _less(kept.heads, name)}, f"head {name} is forgotten."
    elif name in kept.boxes:
        change, said = {"boxes": _less(kept.boxes, name)}, f"box {name} is forgotten."
    elif name in {which.name for which, _, _ in _learned(notebook_path, kept.forgotten)}:
        change = {"forgotten": kept.forgotten | {name: _until(notebook_path)}}
        said = (
            f"{name}: what was learned until now is forgotten; the sheets stay in the notebook, and --undo takes this back."
        )
    if not change:
        raise Refused(f"nothing is kept of {name!r}; `lamphouse calibrations list` shows the names")
    save_corrections(corrections_file(), msgspec.structs.replace(kept, **change))
    click.echo(said)


def _until(path: Path | None) -> str:
    """A time that no sheet of the notebook was begun after, whatever the clock says: the last of them, or now."""
    from timer.app.notebooks import existing
    from timer.documents.settings import notebook_file
    from timer.notebook.sheets import last_begun

    with existing(path or notebook_file()) as notebook:
        return last_begun(notebook) or datetime.now().astimezone().isoformat()


def _less(kept: dict[str, Any], name: str) -> dict[str, Any]:
    return {key: value for key, value in kept.items() if key != name}


def _learned(path: Path | None, forgotten: dict[str, str]) -> "list[tuple[Which, Learned, int]]":
    """What the notebook's sheets teach, nothing where there is no notebook."""
    from timer.app.notebooks import existing
    from timer.documents.files import is_there
    from timer.documents.settings import load_settings, notebook_file
    from timer.measure.learned import KINDS, every, old_sheets

    path = path or notebook_file()
    if not is_there(path):
        return []
    mine = load_settings().head
    with existing(path) as notebook:
        return [each for kind in KINDS for each in every(old_sheets(notebook, mine, kind, forgotten))]


def _lines(which: "Which", learned: "Learned", sign: int) -> list[str]:
    from timer.craft.heads import THREE_LIGHTS
    from timer.measure.advise import learned_from

    box = f", box {which.box}" if which.box else ""
    kind = ", reversal" if sign < 0 else ""
    by = f", by {which.kind or 'densitometer'}"
    error = learned.error
    columns = ("red", "green", "blue") if which.head in THREE_LIGHTS else ("cyan", "magenta", "yellow")
    lines = [
        f"{which.name}{box}{kind}{by}: {learned_from(learned)}",
        "  layer  " + "".join(f"{name:14}" for name in columns) + "slope",
    ]
    for j, layer in enumerate(("red", "green", "blue")):
        cells = [f"{learned.head[j, k]:5.2f} ± {error[3 * j + k]:.2f}" for k in range(3)]
        cells.append(f"{learned.slope[j]:5.2f} ± {error[9 + j] * learned.slope[j]:.2f}")
        lines.append(f"  {layer:6} " + "".join(f"{cell:14}" for cell in cells).rstrip())
    if learned.odd:
        lines.append(f"  contradicted what was known before: sheets {', '.join(map(str, learned.odd))}")
    return lines


def _data(which: "Which", learned: "Learned", sign: int) -> dict[str, Any]:
    from timer.measure.advise import learned_json

    own = {"name": which.name, "head_kind": which.head, "head_name": which.named, "paper": which.paper, "box": which.box}
    return {**own, "read_with": which.kind or "densitometer", "reversal": sign < 0, **learned_json(learned)}
