"""Notebooks that are damaged, and databases that are no notebook and were made to hurt whoever opens them."""

import os
import random
import sqlite3
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

from tests.fuzz.files import EXAMPLE, FULL, Lines
from timer.documents.recipe_file import parse_recipe
from timer.notebook import chemistry, sheets
from timer.notebook.database import build
from timer.notebook.migrations import VERSION
from timer.notebook.store import Notebook
from timer.plans.print import print_plan
from timer.plans.strip import strip_plan


def good_book(path: Path) -> None:
    """Strips, prints, a broken-off run and one that continues it; what is written of them; a bath."""
    with Notebook(path) as book:
        for n in range(6):
            text = ("", EXAMPLE, FULL)[n % 3]
            plan = print_plan(parse_recipe(text)) if text else strip_plan(8.0, Fraction(1, 3), 3, "cover", paper="bw")
            run = book.begin_run(plan, recipe=text, lamp="simulated")
            lit = [at for at, step in enumerate(plan.steps) if step.do == "expose"]
            with book.commit():
                for number, at in enumerate(lit):
                    book.write(
                        "INSERT INTO exposure (run, number, step, label, asked_s, ordered_us, noted, boot, lit, seen_us, low_us,"
                        " high_us, why, name) VALUES (?, ?, ?, ?, 2.0, 2000000, '2026-01-02T20:00:00.000+01:00', ?, 1, 0,"
                        " 2000000, 2000000, 'complete', ?)",
                        (run, number, at, plan.steps[at].area, bytes(16), run << 8 | number),
                    )
            book.fact(run, len(lit) - 1, 900_000, 1_000_000, "both_lost")
            if n != 4:
                book.end_run(run, "finished", "finished")
            sheets.write_on(book, run, {"notes": "Sky at last", "rating": 3, "cost": 1.5, "negative": f"roll 14, frame {n}"})
        chemistry.mix(book, "developer", 1000, 14.0)
        book.settle()


ODD: list[object] = [
    None, "", "abc", -1, 0, 2**63 - 1, -(2**63), 1e308, -1e308, float("inf"), 0.5, b"", b"\xff\xfe", b"\x00" * 16,
    "A\x1b[?5hB", "A\nB", "A\u202eB", "\u0663", "2026-13-45", "2026-01-02T20:00:00", "0001-01-01T00:00:00+14:00", "running",
    "{}", "[", '{"kind":"strip","title":"x","steps":[]}', '{"kind":"strip","title":"x","steps":[{"do":"expose","say":"x",'
    '"area":"fence edge","seconds":1e30}]}', "=1+1", "x" * 100_000, "bw", "ra4", "<script>", "recipe = 1", 7, 99,
]  # fmt: skip
COLUMNS = {
    "run": [
        "begun",
        "ended",
        "state",
        "says",
        "kind",
        "title",
        "plan",
        "plan_hash",
        "recipe",
        "lamp",
        "delay_s",
        "rise_s",
        "continues",
        "paper",
        "covered",
        "sums",
    ],
    "exposure": [
        "step",
        "label",
        "asked_s",
        "ordered_us",
        "noted",
        "boot",
        "lit",
        "seen_us",
        "low_us",
        "high_us",
        "why",
        "dose_s",
        "name",
        "number",
    ],
    "sheet": [
        "begun",
        "kind",
        "title",
        "negative",
        "paper",
        "box",
        "batch",
        "process",
        "head",
        "notes",
        "rating",
        "area",
        "cost",
        "words",
    ],
    "chemistry": ["name", "mixed", "ml", "capacity", "used", "ended"],
    "book": ["name"],
}


def damage(path: Path, chance: random.Random) -> None:
    """Odd values in some places; or bytes of the file changed; or rows gone."""
    way = chance.random()
    if way < 0.65:
        db = sqlite3.connect(path)
        for _ in range(chance.randint(1, 4)):
            table = chance.choice(("run", "run", "exposure", "exposure", "sheet", "chemistry", "book"))
            some = "" if chance.random() < 0.2 else " WHERE rowid % 6 = 2" if table in ("run", "sheet") else ""
            try:
                db.execute(f"UPDATE OR IGNORE {table} SET {chance.choice(COLUMNS[table])} = ?{some}", (chance.choice(ODD),))
            except sqlite3.Error:  # the column takes no such thing
                continue
        if chance.random() < 0.1:
            db.execute(
                f"DELETE FROM {chance.choice(list(COLUMNS))} WHERE rowid % 2" if chance.random() < 0 else "DELETE FROM book"
            )
        if chance.random() < 0.1:
            db.execute(f"PRAGMA user_version = {chance.choice((-1, 0, 1, 2, 99, 2**31 - 1))}")
        db.commit()
        db.close()
        return
    data = bytearray(path.read_bytes())
    for _ in range(chance.choice((1, 1, 3, 30, 300))):
        data[chance.randrange(len(data))] = chance.randrange(256)
    path.write_bytes(data[: chance.randrange(len(data))] if chance.random() < 0.15 else data)


def book_commands(path: str, chance: random.Random, folder: Path, count: int) -> Lines:
    """``count`` commands on the notebook at ``path``, every one there is that gives no light."""
    out: Lines = []
    for n in range(count):
        run = str(chance.randint(1, 7))
        other = str(chance.randint(1, 7))
        line = chance.choice(
            (
                ["notebook", "list"], ["notebook", "list", "--json"], ["notebook", "show", run],
                ["notebook", "show", run, "--json"], ["notebook", "find", "sky"], ["notebook", "find", "roll", "14", "--json"],
                ["notebook", "compare", run, other], ["notebook", "account"], ["notebook", "account", "sky", "--json"],
                ["notebook", "card", run], ["notebook", "csv"], ["notebook", "check"], ["notebook", "check", "--json"],
                ["notebook", "write", run, "--rating", "4", "--notes", "x"], ["reprint", run, "--show"],
                ["resume", run, "--show"], ["resume", "--show"], ["bath", "status"], ["bath", "use", "developer", "--area", "1"],
                ["notebook", "export", str(folder / f"out{n}.db")], ["notebook", "import", path],
            )
        )  # fmt: skip
        at = [] if line[1] == "import" else ["--notebook", path]
        out.append([*line, *(["--notebook", str(folder / "mine.db")] if line[1] == "import" else at)])
    return out


# ── made to hurt ─────────────────────────────────────────────────────────────


def _book(path: Path) -> sqlite3.Connection:
    good_book(path)
    return sqlite3.connect(path, isolation_level=None)


def _in_schema(path: Path, change: str, *values: object) -> None:
    db = _book(path)
    db.execute("PRAGMA writable_schema = ON")
    db.execute(change, values)
    db.close()


def _trigger(path: Path) -> None:
    db = _book(path)
    db.execute("CREATE TRIGGER t AFTER INSERT ON exposure BEGIN UPDATE exposure SET low_us = 0, high_us = 0; END")
    db.close()


def _view(name: str, body: str) -> Callable[[Path], None]:
    def make(path: Path) -> None:
        db = _book(path)
        db.execute("PRAGMA foreign_keys = OFF")
        db.execute(f"ALTER TABLE {name} RENAME TO {name}_old")
        db.execute(f"CREATE VIEW {name} AS {body}")
        db.close()

    return make


_FOREVER = "WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT"
_BLOBS = "SELECT zeroblob(1900000000) AS"


def _table(name: str, sql: str) -> Callable[[Path], None]:
    """``name`` made anew by ``sql``."""

    def make(path: Path) -> None:
        db = _book(path)
        db.execute("PRAGMA foreign_keys = OFF")
        db.execute("DROP INDEX IF EXISTS run_state")
        db.execute(f"ALTER TABLE {name} RENAME TO {name}_old")
        db.execute(sql)
        db.execute(f"DROP TABLE {name}_old")
        db.close()

    return make


def _many_views(path: Path) -> None:
    db = _book(path)
    db.execute("PRAGMA writable_schema = ON")
    db.execute(
        "WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n WHERE x < 200000) INSERT INTO sqlite_schema"
        " SELECT 'view', 'v' || x, 'v' || x, 0, 'CREATE VIEW v' || x || ' AS SELECT 1' FROM n"
    )
    db.close()


def _cycle(path: Path) -> None:
    """An interior page whose children are all itself: a tree without end."""
    db = _book(path)
    (root,) = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'run'").fetchone()
    (size,) = db.execute("PRAGMA page_size").fetchone()
    db.close()
    data = bytearray(path.read_bytes())
    cells = 300
    page = bytearray(size)
    page[0] = 5
    page[3:5] = cells.to_bytes(2, "big")
    page[8:12] = root.to_bytes(4, "big")
    for n in range(cells):
        at = size - 5 * (n + 1)
        page[at : at + 5] = root.to_bytes(4, "big") + b"\x01"
        page[12 + 2 * n : 14 + 2 * n] = at.to_bytes(2, "big")
    page[5:7] = (size - 5 * cells).to_bytes(2, "big")
    data[(root - 1) * size : root * size] = page
    path.write_bytes(data)


def _utf16(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("PRAGMA encoding = 'UTF-16le'")
    db.execute("CREATE TABLE x (y)")
    db.execute("INSERT INTO x VALUES (CAST(x'00d8' AS TEXT))")
    db.commit()
    db.close()


def _wal_pipe(path: Path) -> None:
    good_book(path)
    os.mkfifo(f"{path}-wal")


def _hot_journal(path: Path) -> None:
    good_book(path)
    Path(f"{path}-journal").write_bytes(b"\xd9\xd5\x05\xf9\x20\xa1\x63\xd7" + os.urandom(2000))


def _wal_noise(path: Path) -> None:
    good_book(path)
    Path(f"{path}-wal").write_bytes(b"\x37\x7f\x06\x82" + os.urandom(9000))


def _long_text(path: Path) -> None:
    db = _book(path)
    db.execute("UPDATE sheet SET notes = ?", ("x" * 15_000_000,))
    db.close()


def _own_functions(path: Path) -> None:
    db = _book(path)
    db.execute("CREATE INDEX i ON run (abs(delay_s)) WHERE hex(zeroblob(50)) IS NOT NULL AND id > 5")
    db.close()


def _deep(path: Path) -> None:
    db = _book(path)
    db.execute("UPDATE run SET plan = ?", ("[" * 1_000_000,))
    db.close()


def _many_steps(path: Path) -> None:
    db = _book(path)
    step = '{"do":"expose","say":"x","area":"base","seconds":1}'
    db.execute("UPDATE run SET plan = ?", (f'{{"kind":"print","title":"x","steps":[{",".join([step] * 100_000)}]}}',))
    db.close()


def _foreign_version(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE moz_places (url)")
    db.commit()
    db.close()


def _gap(path: Path) -> None:
    path.touch()
    os.truncate(path, 2**40)


def _nameless(path: Path) -> None:
    build(path, VERSION).close()


_EXPOSURE = (
    "CREATE TABLE exposure (run INTEGER NOT NULL, number INTEGER NOT NULL, step INTEGER, label TEXT, asked_s REAL,"
    " ordered_us INTEGER, noted TEXT, boot BLOB, lit INTEGER, seen_us INTEGER, low_us INTEGER {low}, high_us INTEGER, why TEXT,"
    " dose_s REAL, name INTEGER, rested_us INTEGER, PRIMARY KEY (run, number){check}) {rowid}"
)

HOSTILE: dict[str, Callable[[Path], None]] = {
    "a trigger that takes the light away": _trigger,
    "a view without end": _view("run", f"{_FOREVER} x AS id, 'x' AS begun FROM n"),
    "a view without end, of sheets": _view("sheet", f"{_FOREVER} x AS run FROM n"),
    "a view of gigabytes": _view("run", f"{_BLOBS} title"),
    "the book a view of itself": _view("book", "SELECT name FROM book_old"),
    "two hundred thousand views": _many_views,
    "a generated column": _table(
        "exposure", _EXPOSURE.format(low="GENERATED ALWAYS AS (length(zeroblob(900000000))) VIRTUAL", check="", rowid="")
    ),
    "a check that never ends": _table(
        "exposure",
        _EXPOSURE.format(low="", check=", CHECK (length(replace(hex(zeroblob(90000000)), '0', 'aaaaaaaa')) > 0)", rowid=""),
    ),
    "rows with a rowid": _table("exposure", _EXPOSURE.format(low="", check="", rowid="")),
    "a column more": lambda path: _in_schema(
        path, "UPDATE sqlite_schema SET sql = replace(sql, 'covered TEXT', 'covered TEXT, more TEXT') WHERE name = 'run'"
    ),
    "a default that hurts": lambda path: _in_schema(
        path, "UPDATE sqlite_schema SET sql = replace(sql, 'DEFAULT 0', 'DEFAULT (zeroblob(999999999))')"
    ),
    "one table's pages under two names": lambda path: _in_schema(
        path,
        "UPDATE sqlite_schema SET rootpage = (SELECT rootpage FROM sqlite_schema WHERE name = 'sheet') WHERE name = 'exposure'",
    ),
    "no root": lambda path: _in_schema(path, "UPDATE sqlite_schema SET rootpage = 0 WHERE name = 'run'"),
    "a root far away": lambda path: _in_schema(path, "UPDATE sqlite_schema SET rootpage = 2000000000 WHERE name = 'run'"),
    "SQL that is none": lambda path: _in_schema(path, "UPDATE sqlite_schema SET sql = 'CREATE TABLE' WHERE name = 'run'"),
    "a name with escapes": lambda path: _in_schema(
        path, "INSERT INTO sqlite_schema VALUES ('view', ?, 'v', 0, 'CREATE VIEW v AS SELECT 1')", "v\x1b[?5h\n"
    ),
    "an index with functions": _own_functions,
    "pages in a circle": _cycle,
    "another encoding": _utf16,
    "a pipe for a log": _wal_pipe,
    "a hot journal of noise": _hot_journal,
    "a log of noise": _wal_noise,
    "fifteen megabytes of notes": _long_text,
    "a plan a million deep": _deep,
    "a plan of a hundred thousand steps": _many_steps,
    "another program's": _foreign_version,
    "no name": _nameless,
    "a pipe": lambda path: os.mkfifo(path),
    "a folder": lambda path: path.mkdir(),
    "a link to a device": lambda path: path.symlink_to("/dev/zero"),
    "a link to nothing": lambda path: path.symlink_to("/nonexistent/book.db"),
    "a link to itself": lambda path: path.symlink_to(path.name),
    "nothing in it": lambda path: path.touch(),
    "a gap of a terabyte": _gap,
}
