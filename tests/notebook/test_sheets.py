import sqlite3
import threading
from fractions import Fraction
from pathlib import Path

import pytest

from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError, NotebookError
from timer.notebook import backup, chemistry, sheets
from timer.notebook.migrations import VERSION
from timer.notebook.store import Notebook
from timer.plans.print import print_plan
from timer.plans.strip import strip_plan

HERE = Path(__file__).parent
RECIPE = (HERE.parents[1] / "timer" / "documents" / "example.toml").read_text()
PLAN = strip_plan(8.0, Fraction(1, 3), 3, "cover")


@pytest.fixture
def notebook(tmp_path: Path) -> Notebook:
    made = Notebook(tmp_path / "n.db")
    made.begin_run(print_plan(parse_recipe(RECIPE)), recipe=RECIPE)
    made.begin_run(PLAN)
    return made


def test_a_sheet_knows_its_recipe_and_is_found_by_any_word(notebook: Notebook) -> None:
    row = sheets.sheet(notebook, 1)
    assert (row.negative, row.area) == ("roll 14, frame 22", pytest.approx(18 * 24 / (20.32 * 25.4), abs=1e-3))
    sheets.write_on(notebook, 1, {"notes": "Sky at last", "batch": "2217", "rating": 5})
    for words in ("coat", "ROLL 14", "last 2217", "variable-contrast"):
        assert [r.run for r in sheets.search(notebook, words)] == [1]
    assert sheets.search(notebook, "nothing like it") == []
    assert [r.run for r in sheets.search(notebook, "")] == [2, 1]
    sheets.write_on(notebook, 1, {"notes": "changed"})
    assert sheets.search(notebook, "last") == []
    notebook.close()


def test_compare_and_account(notebook: Notebook) -> None:
    other = RECIPE.replace("base_s = 16.0", "base_s = 12.0").replace('grade = "2 1/2"', 'grade = "3"')
    third = notebook.begin_run(print_plan(parse_recipe(other)), recipe=other)
    changed = {what: (first, second) for what, first, second in sheets.compare(notebook, 1, third)}
    assert changed["base"] == ("16 s", "12 s")
    assert changed["filters"] == ("grade 2 1/2", "grade 3")
    assert "title" not in changed
    assert sheets.compare(notebook, 1, 1) == []
    sheets.write_on(notebook, 1, {"rating": 4, "cost": 1.5})
    sheets.write_on(notebook, 2, {"rating": 1, "cost": 0.5, "area": 0.25})
    found = sheets.account(notebook)
    assert (found.sheets, found.cost, found.keepers) == (3, 2.0, 1)
    assert found.area == pytest.approx(2 * 18 * 24 / (20.32 * 25.4) + 0.25, abs=1e-3)
    assert found.sheets_per_keeper == 3
    assert sheets.account(notebook, "strip").sheets == 1
    notebook.close()


@pytest.mark.parametrize(
    ("changes", "says"),
    [({"rating": 9}, "rating"), ({"area": 0}, "area"), ({"cost": -1.0}, "cost"), ({"area": float("nan")}, "area")],
)
def test_what_cannot_be_written(notebook: Notebook, changes: dict[str, float], says: str) -> None:
    with pytest.raises(NotebookError, match=says):
        sheets.write_on(notebook, 1, changes)
    with pytest.raises(NotebookError, match="no sheet 99"):
        sheets.write_on(notebook, 99, {"rating": 3})
    notebook.close()


def test_chemistry_is_counted_and_warns(notebook: Notebook) -> None:
    chemistry.mix(notebook, "developer", 1000, 14.3)
    chemistry.use(notebook, "developer", 0.25)
    assert chemistry.use(notebook, "developer", 2.4).used == pytest.approx(2.65)
    assert chemistry.standing(notebook, "developer").warning == ""
    assert "nearly exhausted" in chemistry.use(notebook, "developer", 10.5).warning
    assert "used up" in chemistry.use(notebook, "developer", 2).warning
    assert chemistry.mix(notebook, "developer", 500, None).used == 0
    assert len(chemistry.all_standing(notebook)) == 1
    with pytest.raises(NotebookError, match="no 'fixer' is mixed"):
        chemistry.use(notebook, "fixer", 1)
    notebook.close()


def test_a_notebook_of_version_1_is_brought_up_to_date(tmp_path: Path) -> None:
    path = tmp_path / "old.db"
    old = sqlite3.connect(path)
    old.executescript((HERE / "version1.sql").read_text())
    plans = old.execute("SELECT plan FROM run ORDER BY id").fetchall()
    old.close()
    with pytest.raises(NotebookError, match="older Lamphouse"):
        Notebook(path, read_only=True)
    notebook = Notebook(path)
    assert notebook.read("PRAGMA user_version")[0]["user_version"] == VERSION
    assert [r.title for r in sheets.search(notebook, "hut")] == ["Hut by the water"]
    assert [row.state for row in notebook.runs()] == ["finished", "finished"]
    assert notebook.read("SELECT plan FROM run ORDER BY id") == [{"plan": plan} for (plan,) in plans]
    assert len(notebook.exposures(1)) == 3
    assert backup.check(notebook) == []
    notebook.close()


def test_a_migration_that_fails_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "old.db"
    old = sqlite3.connect(path)
    old.executescript((HERE / "version1.sql").read_text())
    old.close()
    monkeypatch.setattr("timer.notebook.file.STEPS", ("", "CREATE TABLE half (x);\nnonsense"))
    with pytest.raises(NotebookError):
        Notebook(path)
    again = sqlite3.connect(path)
    assert again.execute("PRAGMA user_version").fetchone() == (1,)
    assert again.execute("SELECT count(*) FROM sqlite_master WHERE name = 'half'").fetchone() == (0,)
    again.close()


def test_export_while_a_run_writes_then_import_elsewhere(notebook: Notebook, tmp_path: Path) -> None:
    stop, twice = threading.Event(), threading.Event()

    def keep_writing() -> None:
        busy = Notebook(notebook.path)
        while not stop.is_set():
            if busy.begin_run(PLAN) > 1:
                twice.set()
        busy.close()

    thread = threading.Thread(target=keep_writing)
    thread.start()
    assert twice.wait(60)
    count = backup.export(notebook, tmp_path / "copy.db")
    stop.set()
    thread.join()
    assert count >= 2
    with pytest.raises(LamphouseError, match="exists already"):
        backup.export(notebook, tmp_path / "copy.db")
    target = tmp_path / "elsewhere" / "notebook.db"
    assert backup.restore(tmp_path / "copy.db", target) == count
    there = Notebook(target)
    assert backup.check(there) == []
    assert there.run(1).title == "Coat by the stairs"
    there.close()
    notebook.close()


def test_what_cannot_be_imported_changes_nothing(notebook: Notebook, tmp_path: Path) -> None:
    notebook.close()
    before = Notebook(notebook.path)
    names = [row.title for row in before.runs()]
    before.close()
    for content in (b"", b"nonsense" * 1000, b"SQLite format 3\0" + b"\xff" * 4096):
        bad = tmp_path / "bad.db"
        bad.write_bytes(content)
        if content:
            with pytest.raises(NotebookError):
                backup.restore(bad, notebook.path)
    plain = sqlite3.connect(tmp_path / "other.db")
    plain.execute("CREATE TABLE book (name)")
    plain.execute("PRAGMA user_version = 1")
    plain.commit()
    plain.close()
    for path in (tmp_path / "other.db", tmp_path / "none.db"):
        with pytest.raises(NotebookError):
            backup.restore(path, notebook.path)
    after = Notebook(notebook.path)
    assert [row.title for row in after.runs()] == names
    after.close()
    assert not list(tmp_path.glob("*.part*"))


def test_import_keeps_what_was_there(notebook: Notebook, tmp_path: Path) -> None:
    backup.export(notebook, tmp_path / "copy.db")
    notebook.begin_run(PLAN)
    notebook.close()
    assert backup.restore(tmp_path / "copy.db", notebook.path) == 2
    kept = Notebook(tmp_path / "n.db.before-1")
    assert len(kept.runs()) == 3
    kept.close()
