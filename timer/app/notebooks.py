"""The notebook that a command means, open: the one it names, or the printer's own."""

from pathlib import Path

from timer.documents.files import is_there
from timer.documents.folders import notebook_file
from timer.errors import NotebookError
from timer.notebook import paper_out
from timer.notebook.rows import PaperOut
from timer.notebook.store import Notebook

BEGUN_WITH = "it is begun with the first strip or print"


def existing(path: Path | None = None, *, to_write: bool = False, instead: str = BEGUN_WITH) -> Notebook:
    """To read, or to write to as well. NotebookError when there is none yet, with what to do ``instead``."""
    chosen = path or notebook_file()
    if not is_there(chosen):
        raise NotebookError(f"there is no notebook at {chosen} yet; {instead}")
    return Notebook(chosen, read_only=not to_write)


def begun(path: Path | None = None) -> Notebook:
    """To write to; made where there is none yet."""
    return Notebook(path or notebook_file())


def out(path: Path | None = None) -> tuple[PaperOut, ...]:
    """The paper that is out; none where there is no notebook yet."""
    chosen = path or notebook_file()
    if not is_there(chosen):
        return ()
    with Notebook(chosen, read_only=True) as notebook:
        return paper_out.all_out(notebook)
