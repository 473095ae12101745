"""The notebook's file: what was planned, what the lamp was about to do, and what it did.

SQLite in WAL mode with ``synchronous=FULL``: what was committed is there after a power cut.
"""

import hashlib
import json
import os
import secrets
import sqlite3
import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Self

import msgspec

from timer.craft.enlargement import parse_sheet
from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError, NotebookError
from timer.notebook.database import LONG_READ_S, READ_S, connect, version_of
from timer.notebook.migrations import STEPS, VERSION
from timer.notebook.rows import EXPOSURE_COLUMNS, RUN_COLUMNS, ExposureRow, RunRow, exposure_row, run_row
from timer.plans.model import Plan
from timer.plans.stored import encode_plan, plan_hash

UNIT_MM2 = 203.2 * 254.0
"""A sheet of 8x10 inches."""
_NOT_SUMMED = ("plan", "state", "says", "ended", "covered", "sums")


class Notebook:
    """An open notebook. Every method commits before it returns, or raises NotebookError and changes nothing.

    ``with`` closes it.
    """

    def __init__(self, path: Path, *, read_only: bool = False) -> None:
        """Open ``path``, made if absent (unless ``read_only``); NotebookError in one sentence when it cannot be."""
        self.path = path
        self._file: tuple[int, int] | None = None
        self._summed = ""
        self._one_at_a_time = threading.RLock()  # a screen reads and writes beside its session's own threads
        with sentences(path):
            if not read_only:
                path.parent.mkdir(parents=True, exist_ok=True)
            self._db, self._clock = connect(path, read_only=read_only)
            try:
                self._prepare(read_only)
            except BaseException:
                self._db.close()
                raise

    def _prepare(self, read_only: bool) -> None:
        version = version_of(self._db, self.path)
        if not read_only:
            self._db.execute("PRAGMA journal_mode = WAL")
            self._db.execute("PRAGMA synchronous = FULL")
            self._db.execute("PRAGMA foreign_keys = ON")
            if version < VERSION:
                self._bring_up_to_date()
        elif version < VERSION:
            raise NotebookError(f"{self.path}: made by an older Lamphouse; `lamphouse notebook check` brings it up to date")
        named = self._db.execute("SELECT name FROM book LIMIT 2").fetchall()
        if len(named) != 1 or not isinstance(named[0][0], int):
            raise NotebookError(f"notebook {self.path}: it is damaged: it has no name; move it aside and a new one is begun")
        self._file = _identity(self.path)

    def _bring_up_to_date(self) -> None:
        """All steps from the version found to the newest, in one transaction: all of it or nothing."""
        with self.commit():
            version = self._db.execute("PRAGMA user_version").fetchone()[0]
            for step in STEPS[version:]:
                for statement in step.split(";\n"):
                    self._db.execute(statement)
            if version == 0:
                self._db.execute("INSERT INTO book VALUES (?)", (secrets.randbits(31) + 1,))
            self._db.execute(f"PRAGMA user_version = {VERSION}")
            for (run,) in self._db.execute("SELECT id FROM run").fetchall():
                self._seal(run)

    def still_there(self) -> None:
        """NotebookError if the file was deleted, moved or replaced since it was opened, so that nothing would be kept."""
        if _identity(self.path) != self._file:
            raise NotebookError(
                f"notebook {self.path}: it was deleted, moved or replaced while it was open; put it back and start again"
            )

    @contextmanager
    def commit(self) -> Iterator[None]:
        """One transaction, on disk when it is left; undone as a whole when the block raises. From any thread, one at a time;
        NotebookError for what SQLite or the disk refuses."""
        with self._one_at_a_time, sentences(self.path):
            self._clock.allow(LONG_READ_S)
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise

    def read(self, sql: str, values: Sequence[Any] = (), *, seconds: float = READ_S) -> list[dict[str, Any]]:
        """Rows of a query, by column name; NotebookError when it takes longer than ``seconds``."""
        with self._one_at_a_time, sentences(self.path):
            self._clock.allow(seconds)
            return [dict(row) for row in self._db.execute(sql, values)]

    def each(self, sql: str, values: Sequence[Any] = ()) -> Iterator[dict[str, Any]]:
        """As ``read``, one by one, of any number of rows."""
        with sentences(self.path):
            self._clock.allow(LONG_READ_S)
            for row in self._db.execute(sql, values):
                yield dict(row)

    def write(self, sql: str, values: Sequence[Any] = ()) -> int:
        """One statement within a ``commit``; the new row's id, or how many it changed."""
        done = self._db.execute(sql, values)
        return int(done.lastrowid or 0) if sql.startswith("INSERT") else done.rowcount

    def copy_to(self, other: sqlite3.Connection) -> None:
        """All of it, as it is at this moment."""
        self._clock.allow(LONG_READ_S)
        self._db.backup(other)

    def settle(self) -> None:
        """Leave no write-ahead log beside the file: so that it can be moved."""
        with sentences(self.path):
            self._db.execute("PRAGMA journal_mode = DELETE")

    def close(self) -> None:
        """Let go of the file; no other thread may be using it."""
        self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # ── writing ──────────────────────────────────────────────────────────────

    def begin_run(
        self,
        plan: Plan,
        *,
        recipe: str = "",
        lamp: str = "",
        lamp_at: str = "",
        response: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0),
        continues: int | None = None,
        made_for: str = "",
    ) -> int:
        """Store a run and its plan before any light; returns its number. A run it continues is marked so.

        ``made_for`` is the recipe that a test is for. A test is unread from now on; what continues one is that test.

        Paper that is out and no other run's is this one's from now on.
        ``lamp_at`` is where the lamp's memory is: a file, or a controller's port. ``response``: the lamp's delay, rise, and
        what a warm one is spared and over what time that fades, in seconds.
        """
        self.still_there()
        with self.commit():
            done = self._db.execute(
                "INSERT INTO run (begun, state, kind, title, plan, plan_hash, recipe, lamp, lamp_at, delay_s, rise_s,"
                " less_s, recovery_s, continues, paper) VALUES (?, 'running', ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    _now(), plan.kind, plan.title, encode_plan(plan).decode(), plan_hash(plan), recipe, lamp, lamp_at,
                    *response, continues, plan.paper,
                ),
            )  # fmt: skip
            if continues is not None:
                self._db.execute("UPDATE run SET state = 'continued' WHERE id = ?", (continues,))
            run = int(done.lastrowid or 0)
            self._db.execute(  # the sheet that lies out, if one does, is this run's
                "UPDATE paper_out SET run = ? WHERE covered IS NULL AND (run IS NULL OR run = ?)", (run, continues)
            )
            self._seal(run)
            if continues is not None:
                made_for = made_for or self._test_over(continues)
            about = about_recipe(recipe or made_for)
            self._db.execute(
                "INSERT INTO sheet (run, begun, kind, title, negative, paper, area, words, unread, made_for)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    run, _now(), plan.kind, plan.title, about.negative, about.paper, about.area,
                    words_of(plan.title, about.negative, about.paper), bool(plan.patches), made_for,
                ),
            )  # fmt: skip
            return run

    def _test_over(self, run: int) -> str:
        """Within a commit: ``run`` waits to be read no more, another has its place; returns what it was made for."""
        row = self._db.execute("SELECT made_for FROM sheet WHERE run = ?", (run,)).fetchone()
        self._db.execute("UPDATE sheet SET unread = 0 WHERE run = ?", (run,))
        return str(row[0]) if row else ""

    def intend(self, row: ExposureRow) -> None:
        """The exposure ``row`` is about to be armed."""
        self.still_there()
        with self.commit():
            self._db.execute(
                "INSERT INTO exposure (run, number, step, label, asked_s, ordered_us, noted, boot, name, noted_ns)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    row.run, row.number, row.step, row.label, row.asked_s, row.ordered_us, _now(), row.boot,
                    row.name, row.noted_ns,
                ),
            )  # fmt: skip
            self._seal(row.run)

    def progress(self, run: int, number: int, seen_us: int) -> None:
        """The lamp is lit and has given at least ``seen_us``: what is certain if the power goes."""
        with self.commit():
            self._db.execute(
                "UPDATE exposure SET lit = 1, seen_us = max(seen_us, ?) WHERE run = ? AND number = ?",
                (seen_us, run, number),
            )
            self._seal(run)

    def fact(
        self,
        run: int,
        number: int,
        low_us: int,
        high_us: int | None,
        why: str,
        dose_s: float | None = None,
        cut_us: int = 0,
    ) -> None:
        """What an exposure gave: lamp-on time from ``low_us`` to ``high_us`` (equal when it is known, None when open).

        ``dose_s``: full-light seconds as a light sensor counted them, where there is one. That it may have been lit is not
        that it was: what is found later may yet show that it never was.
        """
        with self.commit():
            self._db.execute(
                "UPDATE exposure SET lit = lit OR ? > 0, low_us = ?, high_us = ?, why = ?, dose_s = ?, cut_us = ?"
                " WHERE run = ? AND number = ?",
                (low_us, low_us, high_us, why, dose_s, cut_us, run, number),
            )
            self._seal(run)

    def end_run(self, run: int, state: str, says: str) -> None:
        """Write how ``run`` ended (the value of a states.State), and in words."""
        with self.commit():
            self._db.execute("UPDATE run SET state = ?, says = ?, ended = ? WHERE id = ?", (state, says, _now(), run))

    # ── sums ─────────────────────────────────────────────────────────────────

    def _seal(self, run: int) -> None:
        """Within the commit that has changed them: the sum of what is fixed of ``run`` and of its exposures' facts."""
        self._db.execute("UPDATE run SET sums = ? WHERE id = ?", (self._sum(run), run))

    def agrees(self, run: int) -> bool:
        """Whether the facts of ``run`` are those that were written: data that a card has lost is found here."""
        with sentences(self.path):
            self._clock.allow(READ_S)
            kept = self._db.execute("SELECT sums FROM run WHERE id = ?", (run,)).fetchone()
            return kept is not None and kept[0] == self._sum(run)

    def _sum(self, run: int) -> str:
        """SHA-256 of the run's row, less what may change and the plan, which has a hash of its own; and its exposures."""
        if not self._summed:
            names = [name for _, name, *_ in self._db.execute("PRAGMA table_info(run)")]
            self._summed = ", ".join(name for name in names if name not in _NOT_SUMMED)
        rows = self._db.execute(f"SELECT {self._summed} FROM run WHERE id = ?", (run,)).fetchall()
        rows += self._db.execute("SELECT * FROM exposure WHERE run = ? ORDER BY number", (run,)).fetchall()
        plain = [[value.hex() if isinstance(value, bytes) else value for value in row] for row in rows]
        return hashlib.sha256(json.dumps(plain).encode()).hexdigest()

    # ── reading ──────────────────────────────────────────────────────────────

    def run(self, run: int) -> RunRow:
        """Run number ``run``; NotebookError when there is none."""
        rows = self._runs("WHERE id = ?", (run,))
        if not rows:
            raise NotebookError(f"there is no run {run} in {self.path}; `lamphouse notebook list` shows those there are")
        if rows[0].damage:
            raise NotebookError(f"run {run} is damaged: {rows[0].damage}; the rest of the notebook can be used")
        return rows[0]

    def runs(self, most: int = 50) -> list[RunRow]:
        """The newest runs first."""
        return self._runs("ORDER BY id DESC LIMIT ?", (most,))

    def runs_of(self, numbers: Iterable[int]) -> list[RunRow]:
        """The runs of these numbers, in this order, those there are."""
        return [row for number in numbers for row in self._runs("WHERE id = ?", (number,))]

    def unfinished(self, most: int = 100) -> list[RunRow]:
        """Interrupted runs that had light, or may have had it, and were not resumed or given up since; newest first."""
        rows = self._runs(
            "WHERE state IN ('running', 'stopped', 'failed') AND (continues IS NOT NULL OR EXISTS (SELECT 1 FROM exposure"
            " WHERE run = id AND (lit OR why IS NULL OR high_us IS NULL OR high_us > 0))) ORDER BY id DESC LIMIT ?",
            (most,),
        )
        return [row for row in rows if not row.damage]

    def exposures(self, run: int) -> list[ExposureRow]:
        """The exposures of ``run``; NotebookError when one of them has what cannot be, or its run has."""
        rows = self.read(f"SELECT {EXPOSURE_COLUMNS} FROM exposure WHERE run = ? ORDER BY number", (run,))
        made = [exposure_row(row) for row in rows]
        steps = self.run(run).plan.steps if made else ()
        for row in made:
            if not (row.step < len(steps) and steps[row.step].do == "expose"):
                raise NotebookError(f"run {run} is damaged: its plan has no exposure at step {row.step}")
        return made

    def exposures_since(self, row: ExposureRow) -> int:
        """How many exposures of this boot were noted after ``row``, of whatever run."""
        sql = "SELECT count(*) n FROM exposure WHERE boot = ? AND noted_ns > ?"
        return int(self.read(sql, (row.boot, row.noted_ns))[0]["n"])

    def _runs(self, where: str, values: tuple[int, ...]) -> list[RunRow]:
        return [run_row(row) for row in self.read(f"SELECT {RUN_COLUMNS} FROM run {where}", values)]


@dataclass(frozen=True)
class About:
    """What a recipe says of its sheet: words, and its area in sheets of 8x10 inches."""

    negative: str = ""
    paper: str = ""
    area: float = 1.0


def about_recipe(text: str) -> About:
    """Of the recipe stored with a run; nothing of a strip."""
    try:
        recipe = parse_recipe(text) if text else None
    except LamphouseError:
        recipe = None
    if recipe is None:
        return About()
    area = parse_sheet(recipe.enlargement.sheet).area / UNIT_MM2 if recipe.enlargement.sheet else 1.0
    return About(recipe.negative, recipe.paper.name, round(area, 4))


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        found = os.stat(path)
    except OSError:
        return None
    return found.st_dev, found.st_ino


def words_of(*texts: str) -> str:
    """What a sheet is found by: all its words, in small letters."""
    return " ".join(text.lower() for text in texts if text)


@contextmanager
def sentences(path: Path) -> Iterator[None]:
    """Turn what SQLite and the system say into one sentence each."""
    try:
        yield
    except (sqlite3.Error, MemoryError) as error:
        text = str(error)
        if "disk is full" in text or "disk I/O" in text:
            say = "the disk is full or failing; make room and start again"
        elif "readonly" in text:
            say = "it is read-only; make the file and its folder writable, or choose another with --notebook"
        elif "not a database" in text or "malformed" in text or "no such table" in text:
            say = "it is damaged or not a notebook; move it aside and a new one is begun"
        elif isinstance(error, MemoryError) or "too big" in text or "interrupted" in text:
            say = "it takes more time or memory than a notebook does: it is damaged, or no notebook"
        elif "unable to open" in text:
            say = "it cannot be opened; check that its folder exists and is writable"
        elif "locked" in text:
            say = "another program holds it; end that one first"
        else:
            say = f"it cannot be used ({text})"
        raise NotebookError(f"notebook {path}: {say}") from error
    except OverflowError as error:
        raise NotebookError(f"notebook {path}: a number is too big for it") from error
    except (UnicodeError, msgspec.DecodeError) as error:
        raise NotebookError(f"notebook {path}: it is damaged; `lamphouse notebook check` says where") from error
    except OSError as error:
        raise NotebookError(f"notebook {path}: {error.strerror or error}; choose another with --notebook") from error


def _now() -> str:
    return datetime.now().astimezone().isoformat(timespec="milliseconds")
