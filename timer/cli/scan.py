"""``lamphouse scan``."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from timer.app.scan_sheet import Corners, HowToRead, ScanRead, parse_box, parse_tablet
from timer.cli.options import json_option, notebook_option, refuse_idle
from timer.cli.show import echo_json
from timer.cli.values import FILE, RUN, Line, Whole

_GAMMA = re.compile(r"[1-3](\.\d{1,3})?")

Meant = TypeVar("Meant")


def as_boxes(ctx: click.Context, param: click.Parameter, values: tuple[str, ...]) -> dict[str, Corners]:
    """Callback: boxes by sample, in pixels of the file: left, top, width, height."""
    return dict(_understood(parse_box, value, ctx, param) for value in values)


def as_tablet(ctx: click.Context, param: click.Parameter, value: str | None) -> tuple[float, ...]:
    """Callback: densities of a tablet's steps, in the order in which they stand; none where none are said."""
    return () if value is None else _understood(parse_tablet, value or "-", ctx, param)


def _understood(parse: Callable[[str], Meant], value: str, ctx: click.Context, param: click.Parameter) -> Meant:
    try:
        return parse(value)
    except ValueError as error:
        raise click.BadParameter(str(error), ctx, param) from None


def as_curve(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
    """Callback: srgb, linear, an exponent, or none."""
    if value is None or value in ("srgb", "linear") or _GAMMA.fullmatch(value):
        return value
    raise click.BadParameter(f"{value!r} is none of srgb, linear, or a number like 1.8", ctx, param)


@click.command("scan")
@click.argument("run", type=RUN)
@click.argument("file", type=FILE, required=False)
@click.option(
    "--scanner", is_flag=True, help="Scan it now, into FILE, through the system's scanimage.  [default: scan-RUN.tif]"
)
@click.option("--device", metavar="NAME", type=Line(200), default="", help="Which scanner, as `scanimage -L` names it.")
@click.option(
    "--per-inch", type=Whole("pixels", 50, 1200), default=300, show_default=True, help="Of a scan that is made now."
)
@click.option("--take", is_flag=True, help="Keep the readings with the sheet. Without it they are shown, to be confirmed.")
@click.option("-o", "--output", type=FILE, help="The picture with its boxes (PNG).")
@click.option(
    "--box",
    "boxes",
    metavar="PATCH=X,Y,WIDTH,HEIGHT",
    multiple=True,
    callback=as_boxes,
    help="A box of your own: PATCH=x,y,width,height, or aim=...",
)
@click.option(
    "--tablet",
    metavar="DENSITIES",
    callback=as_tablet,
    help="Densities of a step tablet in the scan, in order: '0.05 0.20 0.35 ...'.",
)
@click.option(
    "--printed",
    metavar="DENSITIES",
    callback=as_tablet,
    help="The sheet is a print of a step tablet of these densities, in their order on it: for `lamphouse paper-curve`.",
)
@click.option(
    "--curve",
    metavar="CURVE",
    callback=as_curve,
    help="What its numbers are: srgb, linear, or an exponent like 1.8.  [default: as the file says, or srgb]",
)
@click.option("--reversal", is_flag=True, help="Paper for prints from slides, which gets lighter with light.")
@json_option
@notebook_option
def command(
    run: int,
    file: Path | None,
    scanner: bool,
    device: str,
    per_inch: int,
    take: bool,
    output: Path | None,
    boxes: dict[str, Corners],
    tablet: tuple[float, ...],
    printed: tuple[float, ...],
    curve: str | None,
    reversal: bool,
    as_json: bool,
    notebook_path: Path | None,
) -> None:
    """Read the patches of test sheet RUN from its scan FILE (TIFF, PNG or JPEG, 8 or 16 bit).

    Scan the sheet under a white lid, laid roughly straight, with everything automatic off, and in the same scan either a
    print that is right (its grey place) or a step tablet. The patches are found by what the sheet was given; look at the
    picture with their boxes, then take them. A box is moved by saying where it is. A black-and-white strip needs the
    tablet beside it, an edge that had no light may be a --box base=...; `lamphouse paper-curve` goes on from there.

    \b
    Examples:
      lamphouse scan 12 sheet.tif
      lamphouse scan 12 --scanner
      lamphouse scan 12 sheet.tif --box aim=2210,640,180,180 --take
      lamphouse scan 12 sheet.tif \\
          --tablet "0.06 0.21 0.36 0.51 0.66 0.81 0.96 1.11" --take
    """
    if not scanner:
        refuse_idle({"--device": "device", "--per-inch": "per_inch"}, "they are for a scan that is made now (--scanner)")
    from timer.app.scanner import scan_to
    from timer.app.scanning import plan_to_read, read_file

    how = HowToRead(curve or ("linear" if scanner else ""), tablet, boxes, printed, reversal)
    plan = plan_to_read(run, how, output, notebook_path)
    notes: tuple[str, ...] = ()
    if scanner:
        file = file or Path(f"scan-{run}.tif")
        notes = scan_to(file, device, per_inch)
        click.echo(f"scanned into {file}", err=True)
    elif file is None:
        raise click.UsageError("name the scan's FILE, or say --scanner")
    found, shown = read_file(run, plan, file, how, notes=notes, take=take, output=output, notebook_path=notebook_path)
    if as_json:
        echo_json(_data(run, found, shown, take))
        return
    then = f"lamphouse {'solve' if plan.paper == 'ra4' else 'paper-curve'} {run}" + (" --printed ..." if printed else "")
    click.echo("\n".join(_lines(found, shown, f"sheet {run}: `{then}`" if take else "")))
    if scanner and not take:
        click.echo(f"`lamphouse scan {run} {file} --curve {how.curve} --take` takes them from this scan.")


def _lines(read: ScanRead, shown: Path | None, then: str) -> list[str]:
    """``then``: into which sheet they were taken, and what is next; empty where nothing was kept."""
    lines = ["sample    red  green   blue   box: x,y,width,height"]
    samples = read.samples()
    for patch, pixels, _ in samples:
        red, green, blue = patch.density
        lines.append(f"{patch.sample:8}{red:5.2f}  {green:5.2f}  {blue:5.2f}   {','.join(map(str, pixels))}")
    lines += [f"- {note}" for note in read.scan.notes]
    if shown:
        lines.append(f"- the boxes are drawn in {shown}")
    if then:
        lines.append(f"{len(samples)} readings taken into {then}")
    else:
        lines.append("Nothing is kept yet: look at the picture; if the boxes are right, the same again with --take.")
    return lines


def _data(run: int, read: ScanRead, shown: Path | None, taken: bool) -> dict[str, Any]:
    samples = [
        {
            "sample": patch.sample,
            "density": list(patch.density),
            "box": pixels,
            "uneven": round(patch.uneven, 3),
            "specks": round(patch.specks, 3),
            "cut": patch.cut,
            "error": error,
        }
        for patch, pixels, error in read.samples()
    ]
    return {
        "run": run,
        "samples": samples,
        "tablet": [read.in_file(box) for box in read.scan.tablet],
        "follows": round(read.scan.follows, 3),
        "turned": read.scan.turned,
        "notes": list(read.scan.notes),
        "picture": str(shown) if shown else None,
        "taken": taken,
    }
