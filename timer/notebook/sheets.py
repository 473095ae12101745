"""Every sheet and test piece by its number: what is written of it, finding it, comparing two, what it cost.

A sheet's number is its run's number. Areas are in sheets of 8x10 inches; a test piece is a fraction of one.
"""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from timer.documents.recipe_file import parse_recipe
from timer.documents.recipe_light import filters_text
from timer.errors import LamphouseError, NotebookError
from timer.notebook import columns
from timer.notebook.light import given_text
from timer.notebook.store import Notebook, words_of
from timer.text import unfit

KEEPER = 4
"""A sheet rated this or more, of 5, is a good print."""
MAX_WORDS = 32
FINAL = "FINAL PRINT"
"""What the notes of a final print begin with."""
FIELDS = ("negative", "paper", "box", "batch", "process", "head", "notes")
_COLUMNS = "run, begun, kind, title, negative, paper, box, batch, process, head, notes, rating, area, cost"


@dataclass(frozen=True)
class SheetRow:
    """A sheet as written of; ``rating`` is 1 to 5, ``cost`` in the printer's own money."""

    run: int
    begun: str
    kind: str
    title: str
    negative: str
    paper: str
    box: str
    batch: str
    process: str
    head: str
    notes: str
    rating: int | None
    area: float
    cost: float | None


def sheet(notebook: Notebook, run: int) -> SheetRow:
    """What is written of sheet ``run``; NotebookError when there is none."""
    rows = notebook.read(f"SELECT {_COLUMNS} FROM sheet WHERE run = ?", (run,))
    if not rows:
        raise NotebookError(f"there is no sheet {run} in {notebook.path}; `lamphouse notebook list` shows those there are")
    return _sheet_row(rows[0])


def _sheet_row(row: dict[str, Any]) -> SheetRow:
    """An impossible value counts as none; ``check`` reports it."""
    return SheetRow(**columns.read("sheet", row))


def search(notebook: Notebook, text: str, most: int = 50) -> list[SheetRow]:
    """Sheets that have every word of ``text`` in what is written of them (title and FIELDS); newest first."""
    where, words = _having(text)
    rows = notebook.read(f"SELECT {_COLUMNS} FROM sheet WHERE {where} ORDER BY run DESC LIMIT ?", (*words, most))
    return [_sheet_row(row) for row in rows]


def of_negative(notebook: Notebook, negative: str, before: int) -> list[int]:
    """Finished sheets of ``negative`` before sheet ``before``, oldest first."""
    of_it = "JOIN run ON run.id = run WHERE negative = ? AND run < ? AND run.state = 'finished' ORDER BY run"
    rows = notebook.read(f"SELECT run FROM sheet {of_it}", (negative, before))
    return [int(str(row["run"])) for row in rows]


def is_final(notes: str) -> bool:
    """Whether ``notes`` mark the print as the one that is hung."""
    return notes.startswith(FINAL)


def final_turned(notes: str) -> str:
    """``notes`` with the mark in front, or without it: in words, so that it is found, shown and exported as they are."""
    return notes.removeprefix(FINAL).removeprefix("; ") if is_final(notes) else "; ".join(p for p in (FINAL, notes) if p)


@dataclass(frozen=True)
class Printed:
    """When a title was last printed, and the best rating that a print of it has."""

    begun: str
    rating: int | None


def printed(notebook: Notebook) -> dict[str, Printed]:
    """By title, of all prints."""
    best = "SELECT max(run) run, max(rating) best FROM sheet WHERE kind = 'print' GROUP BY title"
    rows = notebook.read(f"SELECT title, begun, best FROM sheet JOIN ({best}) USING (run)")
    return {
        str(row["title"]): Printed(str(row["begun"]), row["best"] if row["best"] in range(1, 6) else None) for row in rows
    }


def last_begun(notebook: Notebook) -> str | None:
    """The latest time at which a sheet was begun; after a clock was set back that is not the newest sheet's."""
    rows = notebook.read("SELECT begun FROM sheet WHERE julianday(begun) ORDER BY julianday(begun) DESC LIMIT 1")
    return str(rows[0]["begun"]) if rows else None


def every_sheet(notebook: Notebook) -> Iterator[SheetRow]:
    """All sheets, the newest first."""
    return map(_sheet_row, notebook.each(f"SELECT {_COLUMNS} FROM sheet ORDER BY run DESC"))


def _having(text: str) -> tuple[str, list[str]]:
    """The condition that a sheet has every word of ``text``, and its values."""
    if found := unfit(text, lines=True):
        raise NotebookError(f"what is looked for has {found}; no sheet has that")
    words = text.lower().split()
    if len(words) > MAX_WORDS:
        raise NotebookError(f"look for {MAX_WORDS} words at most")
    return " AND ".join(["instr(words, ?) > 0"] * len(words)) or "1", words


def write_on(notebook: Notebook, run: int, changes: dict[str, Any]) -> SheetRow:
    """Write ``changes`` (of FIELDS, rating, area, cost) on sheet ``run``. NotebookError when one does not fit."""
    before = sheet(notebook, run)
    rating, area, cost = changes.get("rating"), changes.get("area"), changes.get("cost")
    if rating is not None and not 1 <= rating <= 5:
        raise NotebookError(f"a rating is 1 (bin) to 5 (frame it), not {rating}")
    if area is not None and not 0 < area <= 50:
        raise NotebookError(f"an area is in sheets of 8x10, above 0 and up to 50, not {area:g}")
    if cost is not None and not 0 <= cost < 1e6:
        raise NotebookError(f"a cost is not below 0, so not {cost:g}")
    values = {key: value for key, value in changes.items() if value is not None}
    for key, value in values.items():
        if found := columns.TABLES["sheet"][key].judge(value):
            raise NotebookError(f"{key}: {found}")
    after = {**{key: getattr(before, key) for key in FIELDS}, **values}
    values["words"] = words_of(before.title, *(str(after[key]) for key in FIELDS))
    with notebook.commit():
        notebook.write(
            f"UPDATE sheet SET {', '.join(f'{key} = ?' for key in values)} WHERE run = ?", (*values.values(), run)
        )
    return sheet(notebook, run)


def compare(notebook: Notebook, one: int, other: int) -> list[tuple[str, str, str]]:
    """What differs between two sheets: (what, on the first, on the second). Settings, exposures, notes."""
    first, second = _flat(notebook, one), _flat(notebook, other)
    keys = [*first, *(key for key in second if key not in first)]
    return [(key, first.get(key, "-"), second.get(key, "-")) for key in keys if first.get(key) != second.get(key)]


def _flat(notebook: Notebook, run: int) -> dict[str, str]:
    row, written = notebook.run(run), sheet(notebook, run)
    out = {"title": row.title, **{key: str(getattr(written, key)) for key in FIELDS}}
    out["rating"] = str(written.rating or "-")
    recipe = None
    with suppress(LamphouseError):  # of an older Lamphouse, which took what this one does not
        recipe = parse_recipe(row.recipe) if row.recipe else None
    if recipe:
        place = recipe.enlargement
        out |= {"sheet size": place.sheet, "aperture": f"f/{place.aperture:g}" if place.aperture else "-"}
        out |= {"filters": filters_text(recipe.filters) or "none", "base": f"{recipe.base_s:g} s"}
        out |= {f"dodge {d.area}": f"{-abs(d.stops)} stop" for d in recipe.dodge}
        out |= {f"dodge {d.area} in {b.area}": f"{-abs(d.stops)} stop" for b in recipe.burn for d in b.dodge}
        out |= {f"burn {b.area}": f"+{b.stops} stop" if b.stops is not None else f"{b.seconds:g} s" for b in recipe.burn}
    for exposure in notebook.exposures(run):
        key = f"light on {exposure.label}"
        out[key] = given_text(exposure, row.response)
    return out


@dataclass(frozen=True)
class Account:
    """How many sheets, in 8x10s, what they cost, and how many are good prints."""

    sheets: int
    area: float
    cost: float
    keepers: int

    @property
    def sheets_per_keeper(self) -> float | None:
        """How many sheets were used for each keeper; None without one."""
        return self.sheets / self.keepers if self.keepers else None


_COUNTS = (
    "SELECT id run, continues IS NULL AND (ended IS NULL OR state = 'finished'"
    " OR EXISTS (SELECT 1 FROM exposure WHERE run = id)) counts FROM run"
)


def account(notebook: Notebook, text: str = "") -> Account:
    """Over all sheets, or those found by ``text``.

    An interrupted sheet counts once, however many runs it took; one without light counts too.
    """
    where, words = _having(text)
    # What is no number that can be counts as none, as it does in a sheet's own row.
    sql = (
        "SELECT total(counts) n, total(CASE WHEN area BETWEEN 0 AND 1000 THEN area * counts END) area,"
        " total(CASE WHEN cost BETWEEN 0 AND 1e6 THEN cost END) cost, total(rating BETWEEN ? AND 5) keepers FROM sheet"
    )
    (row,) = notebook.read(f"{sql} JOIN ({_COUNTS}) USING (run) WHERE {where}", (KEEPER, *words))
    return Account(int(row["n"]), row["area"], row["cost"], int(row["keepers"]))
