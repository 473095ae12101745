"""Databases that are no notebook of ours, values that no notebook has, and sums that do not agree."""

import json
import sqlite3
from contextlib import suppress
from fractions import Fraction
from pathlib import Path

import pytest

from tests.fuzz.notebooks import COLUMNS, HOSTILE, ODD, good_book
from timer.errors import LamphouseError, NotebookError
from timer.notebook import backup, chemistry, columns, sheets
from timer.notebook.card import as_html, as_text, card_of
from timer.notebook.card_pdf import as_pdf
from timer.notebook.database import build, our_schema, schema
from timer.notebook.migrations import STEPS, VERSION
from timer.notebook.rows import new_row
from timer.notebook.store import Notebook
from timer.plans.strip import strip_plan

HARMLESS = ("a log of noise",)
"""What SQLite leaves aside by itself: every row is whole."""
PLAN = strip_plan(8.0, Fraction(1, 3), 3, "cover")


@pytest.mark.parametrize("name", HOSTILE)
def test_an_import_of_it_is_refused_and_changes_nothing(tmp_path: Path, name: str) -> None:
    mine = tmp_path / "mine.db"
    good_book(mine)
    before = mine.read_bytes()
    HOSTILE[name](tmp_path / "bad.db")
    if name in HARMLESS:
        assert backup.restore(tmp_path / "bad.db", mine) == 6
        return
    with pytest.raises(LamphouseError) as caught:
        backup.restore(tmp_path / "bad.db", mine)
    assert str(caught.value).isprintable()
    assert "fresh" not in str(caught.value) and ".lamphouse-import" not in str(caught.value)
    assert mine.read_bytes() == before
    assert {p.name.removesuffix("-wal").removesuffix("-journal") for p in tmp_path.iterdir()} <= {"mine.db", "bad.db"}


NO_NOTEBOOKS = ["a trigger that takes the light away", "a view without end", "a generated column", "a check that never ends"]


@pytest.mark.parametrize("name", NO_NOTEBOOKS)
def test_it_is_not_opened_either(tmp_path: Path, name: str) -> None:
    HOSTILE[name](tmp_path / "bad.db")
    for read_only in (True, False):
        with pytest.raises(NotebookError, match="is not ours"):
            Notebook(tmp_path / "bad.db", read_only=read_only)


@pytest.mark.parametrize("version", range(1, VERSION + 1))
def test_every_version_of_ours_is_ours(tmp_path: Path, version: int) -> None:
    db = build(tmp_path / "old.db", version)
    assert schema(db) == our_schema(version)
    db.execute("INSERT INTO book VALUES (7)")
    db.close()
    assert backup.restore(tmp_path / "old.db", tmp_path / "mine.db") == 0
    assert len(STEPS) == VERSION


def test_every_column_is_judged(tmp_path: Path) -> None:
    good_book(tmp_path / "n.db")
    with Notebook(tmp_path / "n.db") as book:
        for row in book.read("SELECT name FROM sqlite_schema WHERE type = 'table'"):
            there = {each["name"] for each in book.read(f"PRAGMA table_info({row['name']})")}
            as_a_whole = {"plan", "plan_hash", "sums"} if row["name"] == "run" else set()
            assert there - set(columns.TABLES[row["name"]]) == as_a_whole
        assert backup.check(book) == []


def test_a_restored_book_has_a_name_of_its_own_and_its_exposures_keep_theirs(tmp_path: Path) -> None:
    good_book(tmp_path / "n.db")
    backup.restore(tmp_path / "n.db", tmp_path / "a.db")
    backup.restore(tmp_path / "n.db", tmp_path / "b.db")
    names = set()
    lights = set()
    for path in ("n.db", "a.db", "b.db"):
        with Notebook(tmp_path / path) as book:
            names.add(book.read("SELECT name FROM book")[0]["name"])
            lights.add(json.dumps(book.read("SELECT run, number, name FROM exposure")))
            assert backup.check(book) == []
    assert len(names) == 3
    assert len(lights) == 1


def test_the_last_commits_come_along(tmp_path: Path) -> None:
    book = Notebook(tmp_path / "n.db")
    book.begin_run(PLAN)
    assert (tmp_path / "n.db-wal").stat().st_size  # in use: the row stands in the log, not in the file
    assert backup.restore(tmp_path / "n.db", tmp_path / "mine.db") == 1
    book.close()


# ── sums ─────────────────────────────────────────────────────────────────────

FACTS = [
    ("exposure", "low_us = low_us - 1"), ("exposure", "high_us = high_us + 1"), ("exposure", "asked_s = asked_s * 2"),
    ("exposure", "why = 'broken_off'"), ("exposure", "label = 'sky'"), ("exposure", "ordered_us = 7"),
    ("run", "begun = '2026-01-02T20:00:00+01:00'"), ("run", "title = 'other'"), ("run", "lamp = 'gpio'"),
    ("run", "recipe = ''"), ("run", "delay_s = 0.25"), ("run", "sums = ''"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "change"), FACTS)
def test_a_fact_that_has_changed_is_found(tmp_path: Path, table: str, change: str) -> None:
    good_book(tmp_path / "n.db")
    db = sqlite3.connect(tmp_path / "n.db")
    db.execute(f"UPDATE {table} SET {change} WHERE {'run' if table == 'exposure' else 'id'} = 2")
    db.commit()
    db.close()
    with Notebook(tmp_path / "n.db") as book:
        assert backup.check(book) == ["the facts of run 2 are not those that were written: its sums do not agree"]
        assert [book.agrees(run) for run in (1, 2, 3)] == [True, False, True]
    with pytest.raises(NotebookError, match="sums do not agree; nothing is changed"):
        backup.restore(tmp_path / "n.db", tmp_path / "mine.db")


def test_an_exposure_that_is_gone_is_found(tmp_path: Path) -> None:
    good_book(tmp_path / "n.db")
    db = sqlite3.connect(tmp_path / "n.db")
    db.execute("DELETE FROM exposure WHERE run = 2 AND number = 0")
    db.commit()
    db.close()
    with Notebook(tmp_path / "n.db") as book:
        assert "sums" in backup.check(book)[0]


def test_sums_agree_at_every_step_of_a_run(tmp_path: Path) -> None:
    with Notebook(tmp_path / "n.db") as book:
        run = book.begin_run(PLAN)
        assert book.agrees(run)
        book.intend(new_row(run, 0, 1, "patches 1 to 3", 8.0, 8_000_000))
        assert book.agrees(run)
        book.progress(run, 0, 3_000_000)
        assert book.agrees(run)
        book.fact(run, 0, 8_000_000, 8_000_000, "complete")
        assert book.agrees(run)
        book.end_run(run, "finished", "finished")
        assert book.agrees(run)
        assert not book.agrees(99)


# ── odd values ───────────────────────────────────────────────────────────────


PLACES = [(table, column) for table in ("run", "exposure", "sheet", "chemistry") for column in COLUMNS[table]]


@pytest.mark.parametrize(("table", "column"), PLACES)
def test_one_odd_value_anywhere_and_the_rest_can_be_used(tmp_path: Path, table: str, column: str) -> None:
    good_book(tmp_path / "n.db")
    key = {"exposure": "run", "sheet": "run"}.get(table, "id")
    with Notebook(tmp_path / "n.db") as book:
        for odd in ODD:
            book._db.execute("SAVEPOINT good")
            with suppress(sqlite3.Error):  # where the column takes no such thing
                book._db.execute(f"UPDATE OR IGNORE {table} SET {column} = ? WHERE {key} = 2", (odd,))
            _use_the_rest(book)
            book._db.execute("ROLLBACK TO good")


def _use_the_rest(book: Notebook) -> None:
    assert [row.id for row in book.runs()] == [6, 5, 4, 3, 2, 1]
    assert len(sheets.search(book, "")) == 6
    assert book.unfinished()
    sheets.account(book)
    chemistry.all_standing(book)
    assert all(fault.isprintable() for fault in backup.check(book))
    for run in (1, 2, 3):
        try:
            made = card_of(book, run)
        except NotebookError as error:
            assert run == 2
            assert "run 2 is damaged" in str(error)
            continue
        assert as_text(made).replace("\n", "").isprintable()


def test_a_run_that_is_damaged_says_so_and_is_not_offered(tmp_path: Path) -> None:
    good_book(tmp_path / "n.db")
    db = sqlite3.connect(tmp_path / "n.db")
    db.execute("UPDATE run SET plan = '{' WHERE id = 5")  # the broken-off one
    db.commit()
    db.close()
    with Notebook(tmp_path / "n.db") as book:
        assert [row.damage != "" for row in book.runs()] == [False, True, False, False, False, False]
        assert not book.unfinished()
        with pytest.raises(NotebookError, match="run 5 is damaged: its plan cannot be read .* the rest"):
            book.run(5)
        with pytest.raises(NotebookError, match="run 5 is damaged"):
            book.exposures(5)
        assert len(book.exposures(4)) == 3


def test_a_card_of_a_recipe_that_is_refused_now(tmp_path: Path) -> None:
    good_book(tmp_path / "n.db")
    with Notebook(tmp_path / "n.db") as book:
        with book.commit():
            book.write("UPDATE run SET recipe = 'recipe = 1' WHERE id = 2")
        made = card_of(book, 2)
        assert "cannot be read any more" in as_text(made)
        assert as_html(made).startswith("<!DOCTYPE html>")
        assert as_pdf(made).startswith(b"%PDF")
        assert sheets.compare(book, 2, 3)
