"""The scan of a test sheet: which files there are, how one is read, and what is found on it, as words and as a picture.

What is imported within a function is for the start-up time: the page is known to the screen from the first moment.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from timer.app.recipes import recipes_folder
from timer.documents.files import free_name
from timer.errors import LamphouseError, Refused
from timer.plans.model import Plan
from timer.text import one_line

if TYPE_CHECKING:
    from timer.documents.reading import Reading
    from timer.measure.find import Box
    from timer.measure.picture import Picture
    from timer.measure.scan import Patch, Scan

ENDINGS = frozenset({".tif", ".tiff", ".png", ".jpg", ".jpeg"})
MOST = 200
"""Files that are offered, the newest."""
CURVES = {
    "": "as the file says, or sRGB",
    "srgb": "sRGB, as most programs save",
    "linear": "linear, a scanner's own",
    "1.8": "gamma 1.8",
    "2.2": "gamma 2.2",
}
_SECOND = re.compile(r"(?<=.)[-_]?(dark|light)$")
_BOX = re.compile(r"([^=]{1,60})=(\d{1,6}),(\d{1,6}),(\d{1,6}),(\d{1,6})")
BOX_LIKE = "patch=left,top,width,height in pixels, like aim=1200,800,150,150"
TABLET_LIKE = "densities of the tablet's steps, like 0.05_0.20_0.35"
MOST_STEPS = 60

Corners = tuple[int, int, int, int]
"""Left, top, width and height in pixels of the file."""
Share = tuple[float, float, float, float]
RGB = tuple[int, int, int]


@dataclass(frozen=True)
class HowToRead:
    """``curve``: what the numbers are, srgb, linear or an exponent; empty: as the file says itself.

    ``tablet``: densities of a step tablet in the scan, in order, if any; ``printed``: of one that the sheet is a print of.
    ``boxes``: by sample, where the printer has put them. ``reversal``: paper that gets lighter with light.
    """

    curve: str = ""
    tablet: tuple[float, ...] = ()
    boxes: Mapping[str, Corners] = field(default_factory=dict)
    printed: tuple[float, ...] = ()
    reversal: bool = False


@dataclass(frozen=True, eq=False)
class ScanRead:
    """What was read of ``path``, and how; nothing of it is kept yet."""

    path: Path
    how: HowToRead
    scan: Scan
    picture: Picture

    def readings(self) -> list[Reading]:
        """For the notebook."""
        return self.scan.readings()

    def in_file(self, box: Box) -> list[int]:
        """Left, top, width and height of ``box`` in pixels of the file."""
        return [round(self.picture.scale * n) for n in (box.left, box.top, box.width, box.height)]

    def samples(self) -> list[tuple[Patch, list[int], float | None]]:
        """Each patch, its box in pixels of the file, and an error of its own, where it is worse than usual."""
        read = zip(self.scan.patches, self.scan.readings(), strict=True)
        return [(patch, self.in_file(patch.box), reading.error) for patch, reading in read]

    def named_boxes(self) -> list[tuple[str, Box]]:
        """Those of the samples, then those of the tablet's steps."""
        named = [(patch.sample, patch.box) for patch in self.scan.patches]
        return named + [(f"step {n}", box) for n, box in enumerate(self.scan.tablet, 1)]

    def rows(self) -> list[str]:
        """Each sample and its densities, a line each."""
        rows = ["          red  green   blue"]
        for patch in self.scan.patches:
            red, green, blue = patch.density
            rows.append(f"{patch.sample:8}{red:5.2f}  {green:5.2f}  {blue:5.2f}")
        return rows

    def places(self) -> dict[str, Share]:
        """Each box by its name: left, top, right, bottom as shares of the picture."""
        high, wide = self.picture.values.shape[:2]
        return {
            name: (b.left / wide, b.top / high, (b.left + b.width) / wide, (b.top + b.height) / high)
            for name, b in self.named_boxes()
        }

    def pixels(self, fit: Callable[[float], tuple[int, int]]) -> tuple[tuple[RGB, ...], ...]:
        """The scan in rows, as many pixels across and down as ``fit`` says for its shape."""
        import numpy as np
        from PIL import Image

        from timer.measure.scan import is_linear

        values = self.picture.values ** (1 / 2.2 if is_linear(self.picture, self.how.curve) else 1.0)
        whole = Image.fromarray((np.clip(values, 0, 1) * 255).astype(np.uint8))
        small = np.asarray(whole.resize(fit(whole.width / whole.height), Image.Resampling.BOX))
        return tuple(tuple((int(r), int(g), int(b)) for r, g, b in row) for row in small)


def files() -> list[Path]:
    """The pictures where one stands and beside the recipes, newest first; none where nothing can be listed."""
    there: dict[Path, float] = {}
    for place in (Path(), recipes_folder()):
        try:
            for path in place.iterdir():
                if path.suffix.lower() in ENDINGS and path.is_file():
                    there[path] = path.stat().st_mtime
        except OSError:
            continue
    return sorted(there, key=lambda path: there[path], reverse=True)[:MOST]


def file_named(text: str) -> Path:
    """The file that was typed, where one stands or beside the recipes. A blank may have been meant for an underscore, as
    that is typed for one. LamphouseError where there is none."""
    names = dict.fromkeys((text, text.replace(" ", "_")))
    for name in names:
        for path in (Path(name).expanduser(), recipes_folder() / name):
            if path.is_file():
                return path
    raise LamphouseError(f"no file {one_line(text, 80)!r}; give its whole path, or copy it to {recipes_folder()}")


def read(path: Path, run: int, plan: Plan, how: HowToRead) -> ScanRead:
    """Densities of the patches of sheet ``run``, made by ``plan``, on the scan at ``path``. LamphouseError in one sentence
    where there are none."""
    from timer.measure.find import Box
    from timer.measure.picture import load
    from timer.measure.scan import read_scan, scaled

    must_be_samples(run, plan, how)
    picture = load(path)
    boxes = {name: scaled(Box(*corners), 1 / picture.scale) for name, corners in how.boxes.items()}
    found = read_scan(
        picture,
        plan,
        boxes,
        curve=how.curve,
        tablet=how.tablet or None,
        reversal=how.reversal,
        printed=how.printed or None,
    )
    return ScanRead(path, how, found, picture)


def must_be_samples(run: int, plan: Plan, how: HowToRead) -> None:
    """Refused for a box of a sample that sheet ``run``, made by ``plan``, has not."""
    from timer.measure.sheet import PLACES

    names = {str(patch.patch) for patch in plan.patches} or {str(n) for n in range(1, len(how.printed) + 1)}
    others = {"aim"} if plan.paper == "ra4" else {"aim", "base", "black"}
    places = {f"{name} {place}" for name in names | {"aim"} for place in PLACES}
    odd = set(how.boxes) - others - names - places
    if odd and names:
        raise Refused(
            f"sheet {run} has no patch {min(odd)!r}; its patches are 1 to {len(names)}, and there is "
            f"{' and '.join(map(repr, sorted(others)))}"
        )


def scan_now(run: int) -> tuple[Path, tuple[str, ...]]:
    """Scan sheet ``run`` into a new file where one stands; the file, and what the scanner could not do."""
    from timer.app.scanner import scan_to

    path, _ = free_name(Path(), f"scan-{run}", ".tif")
    return path, scan_to(path)


def parse_box(text: str) -> tuple[str, Corners]:
    """A sample and its box, from ``3=1200,800,150,150``; of a second grey ``3dark`` or ``3-dark``. ValueError in one
    sentence."""
    found = _BOX.fullmatch(text.replace(" ", ""))
    if not found:
        raise ValueError(f"{one_line(text, 80)!r} is no box; write {BOX_LIKE}")
    left, top, width, height = (int(n) for n in found.groups()[1:])
    return _SECOND.sub(r" \1", found[1].lower()), (left, top, width, height)


def parse_tablet(text: str) -> tuple[float, ...]:
    """Densities of a tablet's steps in their order, from words; none for none. ValueError in one sentence."""
    try:
        steps = [float(part) for part in text.replace(",", " ").split()]
    except ValueError:
        steps = [-1.0]
    if steps and not (3 <= len(steps) <= MOST_STEPS and all(0 <= d <= 4 for d in steps) and _in_order(steps)):
        raise ValueError("a tablet is 3 to 60 densities one after the other, like 0.05 0.20 0.35")
    return tuple(steps)


def _in_order(steps: list[float]) -> bool:
    return steps in (sorted(steps), sorted(steps, reverse=True))
