"""What is to be done after a sheet, written: the look at it into the notebook, the next recipe and its picture as files.

What is imported within a function is for the start-up time: few evenings draw what was solved.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from timer.app.notebooks import existing
from timer.app.solving import Solved, head_for, is_as_printed, look_at, next_of, recipe_text, solved
from timer.craft.filters import Pack, parse_pack
from timer.craft.heads import HEADS
from timer.documents.files import must_be_free, write_new
from timer.documents.recipe_file import recipe_toml
from timer.documents.settings import Head
from timer.errors import Refused
from timer.measure.sheet import Aim, Instrument


@dataclass(frozen=True)
class Look:
    """A look at a sheet: the filter ``through`` which it looks right, like ``10G``; ``darker`` than right, in density;
    ``patch`` of a test; alone: it is right."""

    through: str = ""
    darker: float = 0.0
    patch: int | None = None


def solve(
    notebook_path: Path | None,
    runs: Sequence[int],
    head: Head,
    *,
    made_on: str = "",
    look: Look | None,
    aim: Aim | None,
    read_with: Instrument,
    reversal: bool,
    output: Path | None,
    picture: Path | None,
) -> tuple[Solved, str]:
    """As ``solving.solved``, of sheets of one negative, oldest first; and what must be said of the next recipe's aperture.

    ``made_on``: the kind of head that was said to be theirs; refused where the last sheet has another.
    The ``look`` is kept with the last sheet. The next recipe is written at ``output``, unless nothing is to be changed; a
    drawing of it all at ``picture``. Refused as ``solved``, LamphouseError where a name is taken: before anything is kept.
    """
    for path in (output, picture):
        if path:
            must_be_free(path)
    with existing(notebook_path, to_write=look is not None) as notebook:
        theirs = head_for(recipe_text(notebook, runs[-1]), head).kind
        if made_on and theirs != made_on:
            raise Refused(f"sheet {runs[-1]} was made on {HEADS[theirs]}: leave --head {made_on} away")
        if look:
            look_at(notebook, runs[-1], _viewing(look.through), look.darker, look.patch, head.per_stop)
        found = solved(notebook, runs, head, aim=aim, read_with=read_with, reversal=reversal)
    says = ""
    if output and not is_as_printed(found):
        recipe, says = next_of(found, head)
        write_new(output, recipe_toml(recipe).encode())
    if picture:
        from timer.measure.plot import plot

        write_new(picture, plot(found.advice, found.readings, found.names))
    return found, says


def _viewing(through: str) -> Pack:
    try:
        return parse_pack(through or "0")
    except ValueError as error:
        raise Refused(str(error)) from None
