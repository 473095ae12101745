"""The notebook's file while it is open: one transaction at a time, and one sentence for what SQLite or the disk refuses.

SQLite in WAL mode with ``synchronous=FULL``: what was committed is there after a power cut.
"""

import os
import secrets
import sqlite3
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Self

import msgspec

from timer.errors import NotebookError
from timer.notebook.database import LONG_READ_S, READ_S, connect, version_of
from timer.notebook.migrations import STEPS, VERSION
from timer.notebook.sums import seal


class NotebookFile:
    """An open notebook's file: read, and written to within a ``commit``. ``with`` closes it."""

    def __init__(self, path: Path, *, read_only: bool = False) -> None:
        """Open ``path``, made if absent (unless ``read_only``); NotebookError in one sentence when it cannot be."""
        self.path = path
        self._file: tuple[int, int] | None = None
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
                seal(self._db, run)

    def still_there(self) -> None:
        """NotebookError if the file was deleted, moved or replaced since it was opened, so that nothing would be kept."""
        if self._file and _identity(self.path) != self._file:
            raise NotebookError(
                f"notebook {self.path}: it was deleted, moved or replaced while it was open; put it back and start again"
            )

    @contextmanager
    def commit(self) -> Iterator[None]:
        """One transaction, on disk when it is left; undone as a whole when the block raises. From any thread, one at a time;
        NotebookError for what SQLite or the disk refuses, and if the file is ``still_there`` no more."""
        with self._one_at_a_time, sentences(self.path):
            self.still_there()
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


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        found = os.stat(path)
    except OSError:
        return None
    return found.st_dev, found.st_ino


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
