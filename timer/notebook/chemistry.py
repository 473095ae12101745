"""Chemistry: what was mixed, and how much paper it has developed."""

from datetime import datetime

from timer.errors import NotebookError
from timer.notebook import columns
from timer.notebook.rows import Chemistry
from timer.notebook.store import Notebook
from timer.text import unfit


def mix(notebook: Notebook, name: str, ml: float, capacity: float | None) -> Chemistry:
    """A fresh bath; one of the same name that stands is ended. NotebookError for a name that cannot be shown."""
    if found := unfit(name):
        raise NotebookError(f"a bath's name has {found}; give it one of plain words")
    now = datetime.now().astimezone().isoformat(timespec="seconds")
    with notebook.commit():
        notebook.write("UPDATE chemistry SET ended = ? WHERE name = ? AND ended IS NULL", (now, name))
        notebook.write("INSERT INTO chemistry (name, mixed, ml, capacity) VALUES (?, ?, ?, ?)", (name, now, ml, capacity))
    return standing(notebook, name)


def standing(notebook: Notebook, name: str) -> Chemistry:
    """The bath that is mixed as ``name``; NotebookError when none is."""
    found = [each for each in all_standing(notebook) if each.name == name]
    if not found:
        raise NotebookError(f"no {name!r} is mixed; `lamphouse bath mix {name} --ml 500` says that it is")
    return found[0]


def all_standing(notebook: Notebook) -> list[Chemistry]:
    """Every bath that is mixed and not thrown away, by name."""
    rows = notebook.read(
        "SELECT id, name, mixed, ml, capacity, used, ended FROM chemistry WHERE ended IS NULL ORDER BY name"
    )
    return [Chemistry(**columns.read("chemistry", row)) for row in rows]


def use(notebook: Notebook, name: str, area: float) -> Chemistry:
    """Count ``area`` sheets of 8x10 through the bath."""
    if not 0 < area <= 100:
        raise NotebookError(f"an area is in sheets of 8x10, above 0 and up to 100, not {area:g}")
    now = standing(notebook, name)
    with notebook.commit():
        notebook.write("UPDATE chemistry SET used = used + ? WHERE id = ?", (area, now.id))
    return standing(notebook, name)
