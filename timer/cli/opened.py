"""The notebook that a command means, open."""

from pathlib import Path

from timer.documents.files import is_there
from timer.errors import NotebookError
from timer.notebook.store import Notebook


def opened(path: Path | None, *, to_write: bool = False) -> Notebook:
    """The notebook at ``path``, or the printer's own; NotebookError when there is none yet."""
    from timer.documents.settings import notebook_file

    chosen = path or notebook_file()
    if not is_there(chosen):
        raise NotebookError(f"there is no notebook at {chosen} yet; it is begun with the first strip or print")
    return Notebook(chosen, read_only=not to_write)
