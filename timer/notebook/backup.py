"""The notebook taken elsewhere and back: a whole copy while it is in use, and a check of it."""

import hashlib
import os
import sqlite3
from pathlib import Path

from timer.errors import NotebookError
from timer.notebook.store import Notebook, sentences


def export(notebook: Notebook, target: Path) -> int:
    """Copy ``notebook`` to ``target`` as it is at this moment, runs going on meanwhile; returns how many runs it has.

    The copy appears whole or not at all. NotebookError when ``target`` exists or cannot be written.
    """
    if target.exists():
        raise NotebookError(f"{target}: exists already; choose another name, nothing is written over")
    part = target.with_name(target.name + ".part")
    try:
        with sentences(target):
            copy = sqlite3.connect(part)
            try:
                notebook.copy_to(copy)
                copy.execute("PRAGMA journal_mode = DELETE")
                (count,) = copy.execute("SELECT count(*) FROM run").fetchone()
            finally:
                copy.close()
            os.replace(part, target)
    finally:
        part.unlink(missing_ok=True)
    return int(count)


def restore(source: Path, target: Path) -> int:
    """Put the notebook at ``source`` in the place of ``target``; the old one is kept beside it. Returns its runs.

    ``source`` is checked first: what is damaged or no notebook is refused, and nothing changes.
    """
    if not source.exists():
        raise NotebookError(f"{source}: no such file")
    part = target.with_name(target.name + ".part")
    part.parent.mkdir(parents=True, exist_ok=True)
    try:
        with sentences(source):
            original = sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)
            copy = sqlite3.connect(part)
            try:
                original.backup(copy)
            finally:
                original.close()
                copy.close()
        # Opening it brings it up to date, and finds out whether it is one at all.
        fresh = Notebook(part)
        try:
            faults = check(fresh)
            if faults:
                raise NotebookError(f"{source}: {faults[0]}; nothing is changed")
            count = fresh.read("SELECT count(*) n FROM run")[0]["n"]
            fresh.settle()
        finally:
            fresh.close()
        _move_aside(target)
        os.replace(part, target)
    finally:
        for name in ("", "-wal", "-shm"):
            part.with_name(part.name + name).unlink(missing_ok=True)
    return int(count)


def _move_aside(target: Path) -> None:
    """Keep what was there, with its write-ahead log, which holds its last commits."""
    number = next(n for n in range(1, 100_000) if not target.with_name(f"{target.name}.before-{n}").exists())
    for suffix in ("-wal", "-shm", ""):
        old = target.with_name(target.name + suffix)
        if old.exists():
            os.replace(old, target.with_name(f"{target.name}.before-{number}{suffix}"))


_TEXTS = {
    "run": ("id", ("begun", "state", "says", "kind", "title", "recipe", "lamp", "paper")),
    "sheet": ("run", ("title", "negative", "paper", "box", "batch", "process", "notes", "words")),
    "exposure": ("run", ("label", "why")),
}


def _unreadable(notebook: Notebook) -> list[str]:
    """Text that is no text any more, and plans that are not what was stored: SQLite does not look at those."""
    faults = []
    for table, (key, columns) in _TEXTS.items():
        casts = ", ".join(f"CAST({column} AS BLOB) {column}" for column in columns)
        for row in notebook.read(f"SELECT {key}, {casts} FROM {table}"):
            for column in columns:
                try:
                    (row[column] or b"").decode()
                except UnicodeDecodeError:
                    faults.append(f"{table} of run {row[key]}: its {column} is damaged")
    for row in notebook.read("SELECT id, CAST(plan AS BLOB) plan, plan_hash FROM run"):
        if hashlib.sha256(row["plan"]).hexdigest() != row["plan_hash"]:
            faults.append(f"the plan of run {row['id']} is not what was stored")
    return faults[:20]


def check(notebook: Notebook) -> list[str]:
    """What is wrong with it, a sentence each; empty when all is well."""
    faults = [f"SQLite finds: {' '.join(row['integrity_check'].split())}" for row in notebook.read("PRAGMA integrity_check")]
    faults = [] if faults == ["SQLite finds: ok"] else faults[:20]
    if faults:
        return faults
    for row in notebook.read("PRAGMA foreign_key_check"):
        faults.append(f"a row of {row['table']} belongs to no run")
    for row in notebook.read("SELECT id FROM run WHERE id NOT IN (SELECT run FROM sheet) LIMIT 5"):
        faults.append(f"run {row['id']} has no sheet")
    for row in notebook.read("SELECT run, number FROM exposure WHERE low_us > high_us OR low_us < 0 LIMIT 5"):
        faults.append(f"exposure {row['number']} of run {row['run']} has a light that cannot be")
    return faults + _unreadable(notebook)
