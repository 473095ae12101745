"""The notebook's file: what was planned, what the lamp was about to do, and what it did.

SQLite in WAL mode with ``synchronous=FULL``: what was committed is there after a power cut.
"""

import hashlib
import os
import secrets
import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Self

import msgspec

from timer.craft.enlargement import parse_sheet
from timer.errors import LamphouseError, NotebookError
from timer.keeper.local.memory import boot_name
from timer.notebook.migrations import STEPS, VERSION
from timer.plan import Plan, decode_plan, encode_plan, plan_hash
from timer.recipe import parse_recipe

UNIT_MM2 = 203.2 * 254.0
"""A sheet of 8x10 inches."""


@dataclass(frozen=True)
class RunRow:
    """A run as the notebook has it."""

    id: int
    begun: str
    ended: str | None
    state: str
    says: str
    kind: str
    title: str
    plan: Plan
    recipe: str
    lamp: str
    delay_s: float
    rise_s: float
    continues: int | None
    paper: str
    covered: str | None
    lamp_at: str = ""
    less_s: float = 0.0
    recovery_s: float = 0.0


@dataclass(frozen=True)
class ExposureRow:
    """One exposure: asked in full-light seconds, ordered (of a cold lamp) and given in µs of lamp-on time.

    Given is a range if nobody saw all of it; ``high_us`` None with a ``why``: nobody knows its upper end. ``why`` is None
    while nothing is known of its end at all. ``name`` is the keeper's for it. ``cut_us``: how much less a warm lamp had.
    """

    run: int
    number: int
    step: int
    label: str
    asked_s: float
    ordered_us: int
    boot: bytes
    lit: bool
    seen_us: int
    low_us: int | None
    high_us: int | None
    why: str | None
    dose_s: float | None = None
    name: int = 0
    noted_ns: int | None = None
    cut_us: int = 0


_RUN = (
    "id, begun, ended, state, says, kind, title, plan, recipe, lamp, delay_s, rise_s, continues, paper, covered, "
    "lamp_at, less_s, recovery_s"
)
_EXPOSURE = (
    "run, number, step, label, asked_s, ordered_us, boot, lit, seen_us, low_us, high_us, why, dose_s, name, noted_ns, cut_us"
)


def new_name() -> int:
    """A name for an exposure that no notebook, restore or machine gives twice: 63 random bits, which SQLite holds."""
    return secrets.randbits(63) or 1


class Notebook:
    """An open notebook. Every method commits before it returns, or raises NotebookError and changes nothing.

    ``with`` closes it.
    """

    def __init__(self, path: Path, *, read_only: bool = False) -> None:
        """Open ``path``, made if absent (unless ``read_only``); NotebookError in one sentence when it cannot be."""
        self.path = path
        self._file: tuple[int, int] | None = None
        with sentences(path):
            if not read_only:
                path.parent.mkdir(parents=True, exist_ok=True)
            mode = "ro" if read_only else "rwc"
            # The session's writer thread uses it after this one has opened it, never both at once.
            self._db = sqlite3.connect(
                f"{path.absolute().as_uri()}?mode={mode}",
                uri=True,
                isolation_level=None,
                timeout=5,
                check_same_thread=False,
            )
            self._db.row_factory = sqlite3.Row
            try:
                self._prepare(read_only)
            except BaseException:
                self._db.close()
                raise

    def _prepare(self, read_only: bool) -> None:
        version = self._db.execute("PRAGMA user_version").fetchone()[0]
        if version > VERSION:
            raise NotebookError(f"{self.path}: made by a newer Lamphouse (version {version}); update this one to read it")
        if not read_only:
            self._db.execute("PRAGMA journal_mode = WAL")
            self._db.execute("PRAGMA synchronous = FULL")
            self._db.execute("PRAGMA foreign_keys = ON")
            if version < VERSION:
                self._bring_up_to_date()
        elif version < VERSION:
            raise NotebookError(f"{self.path}: made by an older Lamphouse; `lamphouse notebook check` brings it up to date")
        self._db.execute("SELECT name FROM book").fetchone()  # a file that is none says so here
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

    def still_there(self) -> None:
        """NotebookError if the file has been deleted, moved or replaced since it was opened: nothing would be kept."""
        if _identity(self.path) != self._file:
            raise NotebookError(
                f"notebook {self.path}: it was deleted, moved or replaced while it was open; put it back and start again"
            )

    @contextmanager
    def commit(self) -> Iterator[None]:
        with sentences(self.path):
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise

    def read(self, sql: str, values: Sequence[Any] = ()) -> list[dict[str, Any]]:
        """Rows of a query, by column name."""
        with sentences(self.path):
            return [dict(row) for row in self._db.execute(sql, values)]

    def write(self, sql: str, values: Sequence[Any] = ()) -> int:
        """One statement within a ``commit``; the new row's id, or how many it changed."""
        done = self._db.execute(sql, values)
        return int(done.lastrowid or 0) if sql.startswith("INSERT") else done.rowcount

    def copy_to(self, other: sqlite3.Connection) -> None:
        """All of it, as it is at this moment."""
        self._db.backup(other)

    def settle(self) -> None:
        """Leave no write-ahead log beside the file: so that it can be moved."""
        with sentences(self.path):
            self._db.execute("PRAGMA journal_mode = DELETE")

    def close(self) -> None:
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
    ) -> int:
        """Store a run and its plan before any light; returns its number. A run it continues is marked so.

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
            about = about_recipe(recipe)
            self._db.execute(
                "INSERT INTO sheet (run, begun, kind, title, negative, paper, area, words) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    run, _now(), plan.kind, plan.title, about.negative, about.paper, about.area,
                    words_of(plan.title, about.negative, about.paper),
                ),
            )  # fmt: skip
            return run

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

    def progress(self, run: int, number: int, seen_us: int) -> None:
        """The lamp is lit and has given at least ``seen_us``: what is certain if the power goes."""
        with self.commit():
            self._db.execute(
                "UPDATE exposure SET lit = 1, seen_us = max(seen_us, ?) WHERE run = ? AND number = ?",
                (seen_us, run, number),
            )

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

        ``dose_s``: full-light seconds as a light sensor counted them, where there is one.
        """
        with self.commit():
            self._db.execute(
                "UPDATE exposure SET lit = lit OR ? > 0, low_us = ?, high_us = ?, why = ?, dose_s = ?, cut_us = ?"
                " WHERE run = ? AND number = ?",
                (1 if high_us is None else high_us, low_us, high_us, why, dose_s, cut_us, run, number),
            )

    def end_run(self, run: int, state: str, says: str) -> None:
        with self.commit():
            self._db.execute("UPDATE run SET state = ?, says = ?, ended = ? WHERE id = ?", (state, says, _now(), run))

    def cover(self, run: int) -> None:
        """The printer says that this run's paper is covered or in the lidded drum."""
        with self.commit():
            self._db.execute("UPDATE run SET covered = ? WHERE id = ?", (_now(), run))

    # ── reading ──────────────────────────────────────────────────────────────

    def run(self, run: int) -> RunRow:
        """Run number ``run``; NotebookError when there is none."""
        rows = self._runs("WHERE id = ?", (run,))
        if not rows:
            raise NotebookError(f"there is no run {run} in {self.path}; `lamphouse notebook list` shows those there are")
        return rows[0]

    def runs(self, most: int = 50) -> list[RunRow]:
        """The newest runs first."""
        return self._runs("ORDER BY id DESC LIMIT ?", (most,))

    def unfinished(self, most: int = 100) -> list[RunRow]:
        """Interrupted runs that had light, or may have had it, and were not resumed or given up since; newest first."""
        return self._runs(
            "WHERE state IN ('running', 'stopped', 'failed') AND (continues IS NOT NULL OR EXISTS (SELECT 1 FROM exposure"
            " WHERE run = id AND (lit OR why IS NULL OR high_us IS NULL OR high_us > 0))) ORDER BY id DESC LIMIT ?",
            (most,),
        )

    def exposures(self, run: int) -> list[ExposureRow]:
        with sentences(self.path):
            rows = self._db.execute(f"SELECT {_EXPOSURE} FROM exposure WHERE run = ? ORDER BY number", (run,))
            named: list[dict[str, Any]] = [dict(row) for row in rows]
        return [ExposureRow(**row | {"lit": bool(row["lit"])}) for row in named]

    def exposures_since(self, row: ExposureRow) -> int:
        """How many exposures of this boot were noted after ``row``, of whatever run."""
        with sentences(self.path):
            sql = "SELECT count(*) FROM exposure WHERE boot = ? AND noted_ns > ?"
            return int(self._db.execute(sql, (row.boot, row.noted_ns)).fetchone()[0])

    def _runs(self, where: str, values: tuple[int, ...]) -> list[RunRow]:
        with sentences(self.path):
            rows: list[dict[str, Any]] = [dict(row) for row in self._db.execute(f"SELECT {_RUN} FROM run {where}", values)]
            return [RunRow(**row | {"plan": decode_plan(row["plan"])}) for row in rows]


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


def claim_key(path: Path) -> str:
    """The name under which a program claims the notebook at ``path`` for as long as it writes in it."""
    return f"notebook-{hashlib.sha256(str(path.resolve()).encode()).hexdigest()[:16]}"


def new_row(run: int, number: int, step: int, label: str, asked_s: float, ordered_us: int) -> ExposureRow:
    """An exposure of this moment, with a name of its own, of which nothing has happened yet."""
    return ExposureRow(
        run, number, step, label, asked_s, ordered_us, boot_name(), False, 0, None, None, None,
        name=new_name(), noted_ns=time.monotonic_ns(),
    )  # fmt: skip


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
    except sqlite3.Error as error:
        text = str(error)
        if "disk is full" in text or "disk I/O" in text:
            say = "the disk is full or failing; make room and start again"
        elif "readonly" in text:
            say = "it is read-only; make the file and its folder writable, or choose another with --notebook"
        elif "not a database" in text or "malformed" in text or "no such table" in text:
            say = "it is damaged or not a notebook; move it aside and a new one is begun"
        elif "unable to open" in text:
            say = "it cannot be opened; check that its folder exists and is writable"
        elif "locked" in text:
            say = "another program holds it; end that one first"
        else:
            say = f"it cannot be used ({text})"
        raise NotebookError(f"notebook {path}: {say}") from error
    except (UnicodeDecodeError, msgspec.DecodeError) as error:
        raise NotebookError(f"notebook {path}: it is damaged; `lamphouse notebook check` says where") from error
    except OSError as error:
        raise NotebookError(f"notebook {path}: {error.strerror or error}; choose another with --notebook") from error


def _now() -> str:
    return datetime.now().astimezone().isoformat(timespec="milliseconds")
