"""Mixed baths: what was mixed, and how much paper went through, in the notebook that a command means."""

from pathlib import Path

from timer.app.notebooks import begun
from timer.craft.enlargement import parse_sheet
from timer.craft.vessels import UNIT_MM2
from timer.errors import Refused
from timer.notebook import chemistry
from timer.notebook.rows import Chemistry


def mixed(notebook_path: Path | None, name: str, ml: float, capacity: float | None) -> Chemistry:
    """Bath ``name`` is fresh, ``ml`` of it; ``capacity`` in sheets of 8x10, None where it is not known."""
    with begun(notebook_path) as notebook:
        return chemistry.mix(notebook, name, ml, capacity)


def used(notebook_path: Path | None, name: str, sheet: str | float, count: int) -> Chemistry:
    """``count`` sheets went through bath ``name``: each of a size like ``8x10in``, or of an area in sheets of 8x10.

    Refused for what is no size, NotebookError where no such bath is mixed.
    """
    try:
        area = parse_sheet(sheet).area / UNIT_MM2 if isinstance(sheet, str) else sheet
    except ValueError as error:
        raise Refused(str(error)) from None
    with begun(notebook_path) as notebook:
        return chemistry.use(notebook, name, area * count)


def standing(notebook_path: Path | None) -> list[Chemistry]:
    """Every bath that is mixed and not thrown away, by name."""
    with begun(notebook_path) as notebook:
        return chemistry.all_standing(notebook)
