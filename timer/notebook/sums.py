"""A checksum a run, of what is fixed of it: data that a card has lost is found by it."""

import hashlib
import json
import sqlite3

_NOT_SUMMED = ("plan", "state", "says", "ended", "covered", "sums")


def seal(db: sqlite3.Connection, run: int) -> None:
    """Within the commit that has changed them: the sum of what is fixed of ``run`` and of its exposures' facts."""
    db.execute("UPDATE run SET sums = ? WHERE id = ?", (sum_of(db, run), run))


def sum_of(db: sqlite3.Connection, run: int) -> str:
    """SHA-256 of the run's row, less what may change and the plan, which has a hash of its own; and its exposures."""
    names = [name for _, name, *_ in db.execute("PRAGMA table_info(run)")]
    summed = ", ".join(name for name in names if name not in _NOT_SUMMED)
    rows = db.execute(f"SELECT {summed} FROM run WHERE id = ?", (run,)).fetchall()
    rows += db.execute("SELECT * FROM exposure WHERE run = ? ORDER BY number", (run,)).fetchall()
    plain = [[value.hex() if isinstance(value, bytes) else value for value in row] for row in rows]
    return hashlib.sha256(json.dumps(plain).encode()).hexdigest()
