"""The sheet as a screen draws it: a test's patches in the virtual paper's tones and a print's own picture.

What is imported within a function is for the start-up time: no command that gives light needs it.
"""

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from timer.app.jobs import Job
from timer.documents.own_picture import picture_path
from timer.errors import LamphouseError
from timer.plans.model import Plan
from timer.plans.outlines import proportion

if TYPE_CHECKING:
    from timer.bench.sheet import Picture

RGB = tuple[int, int, int]
LONGER = 400
"""Pixels that a picture is kept at: more than any terminal has."""


@lru_cache(64)
def patch_tones(plan: Plan) -> tuple[RGB, ...]:
    """The tone of each patch of ``plan`` under an even negative: one that prints a middle grey at the bench's own time."""
    import numpy as np

    from timer.bench import sheet

    count = len(plan.patches)
    even = np.full((8, 8 * count, 3), sheet.OWN_TONE, dtype=np.float32)
    row = sheet.render(plan, None, even)[4]
    return tuple((int(r), int(g), int(b)) for r, g, b in row[4::8])


def shape_of(job: Job) -> float:
    """Width over height of its sheet: upright where the printer's own picture is. A broken picture is as none."""
    shape = proportion(job.recipe)
    try:
        path = _path(job)
        high, wide = _photo(path, _changed(path), shape).shape[:2] if path else (1, 1)
    except LamphouseError:
        return shape
    return 1 / shape if high > wide else shape


def own_pixels(job: Job, fit: Callable[[float], tuple[int, int]]) -> tuple[tuple[RGB, ...], ...] | None:
    """The printer's own picture of its print, in rows, as many pixels across and down as ``fit`` says for its shape.

    None where the recipe names none. LamphouseError in one sentence where it is missing, or is no picture.
    """
    path = _path(job)
    if not path:
        return None
    import numpy as np
    from PIL import Image

    whole = _photo(path, _changed(path), proportion(job.recipe))
    across, down = fit(whole.shape[1] / whole.shape[0])
    small = np.asarray(Image.fromarray(whole).resize((across, down), Image.Resampling.BOX))
    return tuple(tuple((int(r), int(g), int(b)) for r, g, b in row) for row in small)


def _path(job: Job) -> Path | None:
    return picture_path(job.recipe, job.path) if job.recipe else None


def _changed(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0


@lru_cache(8)
def _photo(path: Path, changed: int, shape: float) -> "Picture":
    from timer.bench.picture import photo

    return photo(path, LONGER, shape)
