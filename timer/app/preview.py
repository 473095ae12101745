"""A picture of the sheet, or its printing map, as the bench makes it, of what a file holds: a recipe or a plan.

What is imported within a function is for the start-up time: neither the first page nor a command that gives light needs it.
"""

from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from timer.app.jobs import Job, load_job
from timer.documents.files import must_be_free, read_text, write_new, write_over
from timer.documents.own_picture import picture_path
from timer.documents.recipe import Recipe
from timer.errors import LamphouseError
from timer.plans.outlines import labels, outlines, proportion
from timer.plans.stored import decode_plan

if TYPE_CHECKING:
    from timer.bench.sheet import Picture

FORMS = {".png": "PNG", ".tif": "TIFF", ".tiff": "TIFF", ".jpg": "JPEG", ".jpeg": "JPEG"}
"""What picture is written, by a file's ending."""


def job_at(path: Path) -> Job:
    """The job of the recipe at ``path``, or of the plan as ``--show --json`` gives it. LamphouseError for neither."""
    text = read_text(path)
    if not text.lstrip().startswith("{"):
        return load_job(path)
    try:
        return Job(decode_plan(text), text, path)
    except msgspec.DecodeError as error:
        raise LamphouseError(f"{path}: not a plan: {str(error)[0].lower()}{str(error)[1:]}") from None


def picture_of(
    job: Job,
    size: tuple[int, int],
    *,
    negative: Path | None = None,
    positive: bool = False,
    safelight_s: float = 0.0,
    as_map: bool = False,
    named: bool = False,
    output: Path | None = None,
    over: bool = False,
) -> tuple["Picture", str]:
    """The sheet of ``job``, ``size`` pixels across and down, and what to say of its paper.

    Of a photo of the ``negative`` (``positive``: it is a print's), else of the printer's own picture, else of the bench's
    scene. ``safelight_s``: seconds of a poor safelight. ``as_map``: areas outlined; of a print whose picture or areas are
    not known, on that picture or an empty sheet. ``named``: the patches of a test are numbered.

    It is written at ``output`` in the form of its ending, ``over`` what is there. LamphouseError for a file that is no
    picture, or, before any work, where the name is taken.
    """
    if output and not over:
        must_be_free(output)
    from timer.app.own_paper import own_paper
    from timer.bench import negative as negatives
    from timer.bench import sheet

    recipe, says = job.recipe, ""
    own = picture_path(recipe, job.path) if recipe and not negative else None
    if shown := negative or own:
        film = negatives.load(shown, *size, positive=positive or not negative)
    else:
        film = negatives.own_scene(*size)
    if as_map and recipe and not negative and (own or not outlines(recipe)):
        picture = _sheet_of(own, recipe, max(size))
    else:
        mine, says = own_paper(job.plan, recipe)
        picture = sheet.render(job.plan, recipe, film, safelight_s=safelight_s, own=mine)
    if as_map and recipe:
        picture = sheet.printing_map(picture, recipe, labels(recipe))
    elif named and job.plan.patches:
        picture = sheet.named_patches(picture, job.plan)
    if output:
        (write_over if over else write_new)(output, _encoded(picture, FORMS[output.suffix.lower()]))
    return picture, says


def _sheet_of(own: Path | None, recipe: Recipe, longer: int) -> "Picture":
    """The printer's own picture, or an empty sheet, in the sheet's proportion."""
    import numpy as np

    from timer.bench.picture import photo

    shape = proportion(recipe)
    return photo(own, longer, shape) if own else np.full((round(longer / shape), longer, 3), 255, dtype=np.uint8)


HalfBlocks = list[list[tuple[tuple[int, ...], tuple[int, ...]]]]
"""Rows of characters, each with the colour (red, green, blue) of its upper and its lower half."""


def in_half_blocks(picture: "Picture", width: int) -> HalfBlocks:
    """``picture`` in rows of ``width`` characters."""
    from timer.bench.sheet import half_blocks

    return half_blocks(picture, width)


def picture_that_fits(job: Job, width: int, height: int) -> tuple[HalfBlocks, str]:
    """The sheet of ``job`` in half blocks that fit ``width`` by ``height`` characters, and what to say of its paper.

    LamphouseError as ``picture_of``.
    """
    across = min(width, round(height * 2 * 1.25))
    picture, says = picture_of(job, (across * 4, round(across * 4 / 1.25)))
    return in_half_blocks(picture, across), says


def _encoded(picture: "Picture", form: str) -> bytes:
    import io

    from PIL import Image

    data = io.BytesIO()
    Image.fromarray(picture).save(data, form)
    return data.getvalue()
