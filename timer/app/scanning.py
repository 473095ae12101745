"""A sheet's patches read from its scan: what is asked of it, checked before a scanner runs; the picture with its boxes;
the readings, kept with the sheet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from timer.app.notebooks import existing
from timer.documents.files import free_name, must_be_free, write_new
from timer.errors import Refused
from timer.measure.drawn import drawn
from timer.measure.find import Box
from timer.measure.picture import load
from timer.measure.scan import Patch, Scan, is_linear, read_scan, scaled
from timer.measure.sheet import PLACES
from timer.notebook.readings import take_readings
from timer.plans.model import Plan


@dataclass(frozen=True)
class Asked:
    """How a scan is read. ``boxes``: by sample, where they are not found: left, top, width, height in pixels of the file.

    ``tablet``: densities of a step tablet in the scan, in order; ``printed``: of one that the sheet is a print of.
    ``curve``: srgb, linear or an exponent, empty for what the file says itself; ``reversal``: paper that gets lighter with
    light.
    """

    boxes: Mapping[str, tuple[int, int, int, int]]
    tablet: Sequence[float] | None = None
    printed: Sequence[float] | None = None
    curve: str = ""
    reversal: bool = False


@dataclass(frozen=True, eq=False)
class ReadScan:
    """What was found; ``shown``: the picture with the boxes, if one was written; ``scale``: the file's pixels for one of
    the boxes'."""

    scan: Scan
    shown: Path | None
    scale: float

    def pixels(self, box: Box) -> list[int]:
        """Left, top, width and height of ``box`` in pixels of the file."""
        return [round(self.scale * n) for n in (box.left, box.top, box.width, box.height)]

    def samples(self) -> list[tuple[Patch, list[int], float | None]]:
        """Each patch, its box in pixels of the file, and an error of its own, where it is worse than usual."""
        readings = self.scan.readings()
        return [(patch, self.pixels(patch.box), read.error) for patch, read in zip(self.scan.patches, readings, strict=True)]


def plan_to_read(run: int, asked: Asked, output: Path | None, notebook_path: Path | None) -> Plan:
    """The plan of sheet ``run``. Refused for a box of a sample that it has not, LamphouseError where ``output`` is taken."""
    if output:
        must_be_free(output)
    with existing(notebook_path) as notebook:
        plan = notebook.run(run).plan
    must_be_samples(run, plan, asked)
    return plan


def must_be_samples(run: int, plan: Plan, asked: Asked) -> None:
    """Refused for a box of a sample that sheet ``run``, made by ``plan``, has not."""
    names = {str(patch.patch) for patch in plan.patches} or {str(n) for n in range(1, len(asked.printed or ()) + 1)}
    others = {"aim"} if plan.paper == "ra4" else {"aim", "base", "black"}
    places = {f"{name} {place}" for name in names | {"aim"} for place in PLACES}
    odd = set(asked.boxes) - others - names - places
    if odd and names:
        raise Refused(
            f"sheet {run} has no patch {min(odd)!r}; its patches are 1 to {len(names)}, and there is "
            f"{' and '.join(map(repr, sorted(others)))}"
        )


def read_file(
    run: int,
    plan: Plan,
    file: Path,
    asked: Asked,
    *,
    notes: Sequence[str] = (),
    take: bool = False,
    output: Path | None = None,
    notebook_path: Path | None = None,
) -> ReadScan:
    """Read sheet ``run``, made by ``plan``, from its scan ``file``; ``notes``: what is to be said of the scan already.

    With ``take`` its readings are kept with the sheet. The picture with the boxes is written at ``output``; without it,
    beside the scan, unless they are taken. Refused, and nothing kept, where patches, aim or tablet are not found.
    """
    picture = load(file)
    by_hand = {name: scaled(Box(*box), 1 / picture.scale) for name, box in asked.boxes.items()}
    found = read_scan(
        picture,
        plan,
        by_hand,
        curve=asked.curve,
        tablet=asked.tablet,
        reversal=asked.reversal,
        printed=asked.printed,
    )
    found = replace(found, notes=(*notes, *found.notes))
    shown = output or (None if take else free_name(file.parent, f"{file.stem}-boxes", ".png")[0])
    if shown:
        named = [(patch.sample, patch.box) for patch in found.patches]
        named += [(f"step {n}", box) for n, box in enumerate(found.tablet, 1)]
        write_new(shown, drawn(picture, named, linear=is_linear(picture, asked.curve)))
    if take:
        with existing(notebook_path, to_write=True) as notebook:
            take_readings(notebook, run, found.readings())
    return ReadScan(found, shown, picture.scale)
