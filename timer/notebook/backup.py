"""The notebook taken elsewhere and back: a whole copy while it is in use, its rows taken in again, and a check of it."""

import hashlib
import os
import secrets
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import islice
from pathlib import Path
from typing import Any

import msgspec

from timer.documents.files import is_there, must_be_free, must_be_plain, part_beside, put_in_place, sync
from timer.errors import NotebookError, reason
from timer.notebook import columns
from timer.notebook.database import LONG_READ_S, build, connect, version_of
from timer.notebook.file import sentences
from timer.notebook.store import Notebook
from timer.plans.stored import decode_plan

MAX_BYTES = 2**30
MAX_ROWS = 5_000_000
"""What is taken in at the most: a hundred thousand sheets have a tenth of it."""
MAX_FAULTS = 20
_BESIDE = ("", "-wal", "-shm", "-journal")


def export(notebook: Notebook, target: Path) -> int:
    """Copy ``notebook`` to ``target`` as it is at this moment, runs going on meanwhile; returns how many runs it has.

    The copy appears whole or not at all. LamphouseError when ``target`` exists or cannot be written.
    """
    must_be_free(target)
    with sentences(target), _writing(target):
        part = part_beside(target)
        try:
            copy = sqlite3.connect(part)
            try:
                notebook.copy_to(copy)
                copy.execute("PRAGMA journal_mode = DELETE")
                (count,) = copy.execute("SELECT count(*) FROM run").fetchone()
            finally:
                copy.close()
            put_in_place(part, target)
        finally:
            for suffix in _BESIDE:
                with suppress(OSError):
                    part.with_name(part.name + suffix).unlink(missing_ok=True)
    return int(count)


@contextmanager
def _writing(target: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise NotebookError(f"{target}: cannot be written: {reason(error)}") from None


def restore(source: Path, target: Path) -> int:
    """Make a notebook of the rows in ``source``, in the place of ``target``, which is kept beside it. Returns its runs.

    Rows are taken, never the database: its tables must be ours, word for word, and every value must be one that a
    notebook can have. What is damaged, foreign or too big is refused with a sentence, and nothing changes.
    """
    with sentences(source), _writing(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".lamphouse-import-", dir=target.parent) as folder:
            taken, fresh_path = Path(folder) / "source.db", Path(folder) / "notebook.db"
            _copy(source, taken)
            _take_rows(taken, fresh_path, source)
            try:
                count = _judge_and_name(fresh_path)
            except NotebookError as error:
                says = str(error).removeprefix(f"notebook {fresh_path}: ")
                raise NotebookError(f"{source}: {says}; nothing is changed") from None
            sync(fresh_path)
            set_aside(target)
            os.replace(fresh_path, target)
    return count


def _judge_and_name(path: Path) -> int:
    """Bring the fresh notebook up to date, give it a name of its own; NotebookError for the first fault there is."""
    with Notebook(path) as fresh:
        for fault in _faults_of_rows(fresh):
            raise NotebookError(fault)
        with fresh.commit():
            # No two notebooks have one name: the lamp's memory must not take one for the other.
            fresh.write("UPDATE book SET name = ?", (secrets.randbits(31) + 1,))
        count = count_runs(fresh)
        fresh.settle()
    return int(count)


def _copy(source: Path, taken: Path) -> None:
    """The file and its write-ahead log, which holds its last commits, to where nobody else writes."""
    if not is_there(source):
        raise NotebookError(f"{source}: no such file")
    if source.is_dir():
        raise NotebookError(f"{source}: a folder, not a file")
    journal = source.with_name(source.name + "-journal")
    if is_there(journal) and journal.stat().st_size:
        raise NotebookError(
            f"{source}: has an unfinished change beside it; `lamphouse notebook check --notebook` settles it"
        )
    for suffix in ("", "-wal"):
        beside = source.with_name(source.name + suffix) if suffix else source
        if suffix and not is_there(beside):
            continue
        try:
            size = must_be_plain(beside).st_size
            os.close(os.open(beside, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC))
        except OSError as error:
            raise NotebookError(f"{beside}: cannot be read: {reason(error)}") from None
        if size > MAX_BYTES:
            raise NotebookError(f"{beside}: too big: {MAX_BYTES // 2**20} MB at most")
        shutil.copyfile(beside, taken.with_name(taken.name + suffix))


def _take_rows(taken: Path, fresh_path: Path, source: Path) -> None:
    """A notebook of the same version at ``fresh_path``, with the rows of ``taken``."""
    db, clock = connect(taken, read_only=False)
    try:
        version = version_of(db, source)
        if version == 0:
            raise NotebookError(f"{source}: there is no notebook in it")
        clock.allow(LONG_READ_S)
        # Before any row: pages that lead back to themselves would never end.
        if [tuple(row) for row in db.execute("PRAGMA integrity_check(1)")] != [("ok",)]:
            raise NotebookError(f"{source}: it is damaged; nothing is changed")
        fresh = build(fresh_path, version)
        try:
            fresh.execute("BEGIN")
            left = MAX_ROWS
            for table in columns.TABLES:
                names = [row[1] for row in fresh.execute(f"PRAGMA table_info({table})")]
                if not names:
                    continue  # of a later version
                rows = db.execute(f"SELECT {', '.join(names)} FROM {table}")
                marks = ", ".join("?" * len(names))
                while some := rows.fetchmany(500):
                    left -= len(some)
                    if left < 0:
                        raise NotebookError(f"{source}: too big: {MAX_ROWS} rows at most")
                    fresh.executemany(f"INSERT INTO {table} VALUES ({marks})", some)
            fresh.execute("COMMIT")
        finally:
            fresh.close()
    finally:
        db.close()


def set_aside(target: Path) -> None:
    """Keep what was there beside it, with its write-ahead log, which holds its last commits."""
    if not is_there(target):
        return
    number = next(n for n in range(1, 100_000) if not is_there(target.with_name(f"{target.name}.before-{n}")))
    for suffix in ("-wal", "-shm", ""):
        old = target.with_name(target.name + suffix)
        if is_there(old):
            os.replace(old, target.with_name(f"{target.name}.before-{number}{suffix}"))


# ── check ────────────────────────────────────────────────────────────────────


def count_runs(notebook: Notebook) -> int:
    """How many runs ``notebook`` has."""
    return int(notebook.read("SELECT count(*) n FROM run")[0]["n"])


def check(notebook: Notebook) -> list[str]:
    """What is wrong with it, a sentence each, the first twenty; empty when all is well."""
    found = [" ".join(row["integrity_check"].split()) for row in notebook.each("PRAGMA integrity_check(20)")]
    if found != ["ok"]:
        return [f"SQLite finds: {fault}" for fault in found]
    return list(islice(_faults_of_rows(notebook), MAX_FAULTS))


def _faults_of_rows(notebook: Notebook) -> Iterator[str]:
    for row in notebook.each("PRAGMA foreign_key_check"):
        yield f"a row of {row['table']} belongs to no run"
    for row in notebook.each("SELECT id FROM run WHERE id NOT IN (SELECT run FROM sheet)"):
        yield f"run {row['id']} has no sheet"
    yield from _faults_of_values(notebook)
    for row in notebook.each("SELECT run, number FROM exposure WHERE low_us > high_us"):
        yield f"exposure {row['number']} of run {row['run']} has a light that cannot be"
    for row in notebook.each("SELECT id, plan, plan_hash FROM run"):
        yield from _faults_of_plan(notebook, row["id"], row["plan"], row["plan_hash"])
        if not notebook.agrees(row["id"]):
            yield f"the facts of run {row['id']} are not those that were written: its sums do not agree"


def _faults_of_values(notebook: Notebook) -> Iterator[str]:
    for table, judged in columns.TABLES.items():
        names = [row["name"] for row in notebook.read(f"PRAGMA table_info({table})") if row["name"] in judged]
        for row in notebook.each(f"SELECT {', '.join(names)} FROM {table}"):
            for name in names:
                if says := judged[name].judge(row[name]):
                    yield f"{_named(table, row)}: its {name} {says}"


def _named(table: str, row: dict[str, Any]) -> str:
    """Like "exposure 3 of run 12"."""
    own = next((f" {columns.line(row[key])}" for key in ("id", "number", "sample") if key in row), "")
    of = f" of run {columns.line(row['run'])}" if "run" in row else ""
    return f"{table.replace('_', ' ')}{own}{of}"


def _faults_of_plan(notebook: Notebook, run: int, stored: object, mark: object) -> Iterator[str]:
    if not isinstance(stored, str) or hashlib.sha256(stored.encode(errors="surrogateescape")).hexdigest() != mark:
        yield f"the plan of run {run} is not what was stored"
        return
    try:
        steps = decode_plan(stored).steps
    except msgspec.DecodeError as error:
        yield f"the plan of run {run} cannot be read: {columns.line(str(error))}"
        return
    for row in notebook.read("SELECT DISTINCT step FROM exposure WHERE run = ?", (run,)):
        at = row["step"]
        if not (isinstance(at, int) and 0 <= at < len(steps) and steps[at].do == "expose"):
            yield f"run {run} has an exposure at step {columns.line(at)}, and its plan has none there"
