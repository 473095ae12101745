"""How a notebook's file is opened: our own tables and nothing else in it, in bounded time and memory.

A file may come from anywhere (``notebook import``, ``--notebook``). SQLite runs what a database brings along: triggers,
views, generated columns, checks. So a schema is compared with ours, word for word, before the first row is read.
"""

import sqlite3
import time
from functools import lru_cache
from pathlib import Path

from timer.documents.files import is_there, must_be_plain
from timer.errors import LamphouseError, NotebookError
from timer.notebook.migrations import STEPS, VERSION

MAX_HEAP = 32 * 2**20
"""Bytes that SQLite may take, for all notebooks together: a page cache has 2 MB."""
MAX_ROW = 16 * 2**20
OPEN_S = 2.0
"""Seconds for reading what a file declares: ours declares a dozen things."""
READ_S = 4.0
"""Seconds that one query may take; a search over a hundred thousand sheets takes a tenth of one."""
LONG_READ_S = 600.0
"""For what goes over every row: check, export, import, a list of all sheets."""
_LIMITS = (
    (sqlite3.SQLITE_LIMIT_LENGTH, MAX_ROW),
    (sqlite3.SQLITE_LIMIT_SQL_LENGTH, 100_000),
    (sqlite3.SQLITE_LIMIT_ATTACHED, 0),
)
_STEPS_BETWEEN_LOOKS = 5_000

Schema = frozenset[tuple[str, str, str, str]]


class Clock:
    """How long the query at hand may still take; SQLite asks now and then.

    In seconds of the processor: neither a slow card nor a process that is stopped for a while makes a query too long.
    """

    def __init__(self) -> None:
        self.until = 0.0

    def allow(self, seconds: float) -> None:
        """The query that begins now has so many ``seconds``."""
        self.until = time.process_time() + seconds

    def is_over(self) -> bool:
        """Whether that time is used up; SQLite then ends the query."""
        return time.process_time() > self.until


def connect(path: Path, *, read_only: bool) -> tuple[sqlite3.Connection, Clock]:
    """Open ``path``, a plain file or (unless ``read_only``) none yet. Nothing of it has been read when this returns.

    NotebookError for a pipe, a device or a folder, beside it too; sqlite3.Error as SQLite has it.
    """
    for suffix in ("", "-wal", "-shm", "-journal"):
        beside = path.with_name(path.name + suffix) if suffix else path
        if is_there(beside) and (suffix or beside.exists()):
            try:
                must_be_plain(beside)
            except LamphouseError as error:
                raise NotebookError(f"notebook {error}") from None
    db = sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={'ro' if read_only else 'rwc'}",
        uri=True,
        isolation_level=None,
        timeout=5,
        # The session's writer thread uses it after this one has opened it, never both at once.
        check_same_thread=False,
    )
    clock = Clock()
    clock.allow(OPEN_S)
    db.row_factory = sqlite3.Row
    db.text_factory = _as_text
    for limit, value in _LIMITS:
        db.setlimit(limit, value)
    db.set_progress_handler(clock.is_over, _STEPS_BETWEEN_LOOKS)
    for pragma in (f"hard_heap_limit = {MAX_HEAP}", "trusted_schema = OFF", "cell_size_check = ON", "mmap_size = 0"):
        db.execute(f"PRAGMA {pragma}").fetchall()
    return db, clock


def _as_text(data: bytes) -> str:
    """Bytes that are no text any more stay what they are, as halves of pairs: ``columns.text`` shows, ``check`` tells."""
    return data.decode(errors="surrogateescape")


def version_of(db: sqlite3.Connection, name: object) -> int:
    """Which of our schemas ``db`` has, 0 for an empty file. NotebookError when it has any other; ``name`` is for it."""
    version = int(db.execute("PRAGMA user_version").fetchone()[0])
    if version > VERSION:
        raise NotebookError(f"{name}: made by a newer Lamphouse (version {version}); update this one to read it")
    if version < 0:
        raise NotebookError(f"notebook {name}: it is damaged or not a notebook; move it aside and a new one is begun")
    found = schema(db)
    ours = our_schema(version)
    foreign = sorted(found - ours)
    if foreign:
        kind, what = foreign[0][:2]
        raise NotebookError(
            f"notebook {name}: it is not one of Lamphouse's, or was changed by another program: {kind} {what!r} is not ours"
        )
    if ours - found:
        what = sorted(ours - found)[0][1]
        raise NotebookError(f"notebook {name}: it is damaged or not a notebook: {what!r} is missing")
    return version


def schema(db: sqlite3.Connection) -> Schema:
    """All that ``db`` declares, blanks aside: (kind, name, table, SQL)."""
    rows = db.execute("SELECT type, name, tbl_name, sql FROM sqlite_schema LIMIT 1000").fetchall()
    return frozenset((str(kind), str(name), str(table), " ".join(str(sql).split())) for kind, name, table, sql in rows)


@lru_cache
def our_schema(version: int) -> Schema:
    """What a notebook of ``version`` declares when it is ours."""
    db = build(":memory:", version)
    try:
        return schema(db)
    finally:
        db.close()


def build(path: str | Path, version: int) -> sqlite3.Connection:
    """An empty notebook of an older ``version``, or of this one, at ``path``; it has no name yet.

    Quick, and not safe from a power cut: whoever gives it its final name syncs it first.
    """
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA journal_mode = OFF")
    db.execute("PRAGMA synchronous = OFF")
    for step in STEPS[:version]:
        for statement in step.split(";\n"):
            db.execute(statement)
    db.execute(f"PRAGMA user_version = {version:d}")
    return db
