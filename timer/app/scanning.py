"""A scan read for a command: checked before a scanner runs, drawn with its boxes, and its readings kept with the sheet."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from timer.app.notebooks import existing
from timer.app.scan_sheet import HowToRead, ScanRead, must_be_samples, read
from timer.documents.files import free_name, must_be_free, write_new
from timer.measure.drawn import drawn
from timer.measure.scan import is_linear
from timer.notebook.readings import take_readings
from timer.plans.model import Plan


def plan_to_read(run: int, how: HowToRead, output: Path | None, notebook_path: Path | None) -> Plan:
    """The plan of sheet ``run``. Refused for a box of a sample that it has not, LamphouseError where ``output`` is taken."""
    if output:
        must_be_free(output)
    with existing(notebook_path) as notebook:
        plan = notebook.run(run).plan
    must_be_samples(run, plan, how)
    return plan


def read_file(
    run: int,
    plan: Plan,
    file: Path,
    how: HowToRead,
    *,
    notes: Sequence[str] = (),
    take: bool = False,
    output: Path | None = None,
    notebook_path: Path | None = None,
) -> tuple[ScanRead, Path | None]:
    """Sheet ``run``, made by ``plan``, read from its scan ``file``, and the picture with the boxes, if one was written.

    ``notes``: what is to be said of the scan already. With ``take`` its readings are kept with the sheet. The picture is
    written at ``output``; without it, beside the scan, unless they are taken. Refused, and nothing kept, where patches, aim
    or tablet are not found.
    """
    found = read(file, run, plan, how)
    found = replace(found, scan=replace(found.scan, notes=(*notes, *found.scan.notes)))
    shown = output or (None if take else free_name(file.parent, f"{file.stem}-boxes", ".png")[0])
    if shown:
        write_new(shown, drawn(found.picture, found.named_boxes(), linear=is_linear(found.picture, how.curve)))
    if take:
        with existing(notebook_path, to_write=True) as notebook:
            take_readings(notebook, run, found.readings())
    return found, shown
