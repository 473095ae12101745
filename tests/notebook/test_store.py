import sqlite3
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from timer.errors import LamphouseError, NotebookError
from timer.notebook.rows import new_row
from timer.notebook.sheets import search, sheet
from timer.notebook.store import Notebook
from timer.notebook.writer import Writer
from timer.plans.strip import strip_plan

PLAN = strip_plan(8.0, Fraction(1, 3), 3, "cover")


def test_the_heads_name_is_written_with_the_sheet_and_found(tmp_path: Path) -> None:
    with Notebook(tmp_path / "n.db") as notebook:
        run = notebook.begin_run(PLAN, head="left")
        notebook.begin_run(PLAN)
        assert sheet(notebook, run).head == "left"
        assert [each.run for each in search(notebook, "left")] == [run]


def test_what_is_written_is_read(tmp_path: Path) -> None:
    notebook = Notebook(tmp_path / "n.db")
    run = notebook.begin_run(PLAN, recipe="r", lamp="simulated", response=(0.1, 0.2, 0.3, 2.0))
    notebook.intend(new_row(run, 0, 1, "patches 1 to 3", 8.0, 8_100_000))
    notebook.progress(run, 0, 3_000_000)
    notebook.progress(run, 0, 2_000_000)
    notebook.fact(run, 0, 8_100_001, 8_100_001, "complete")
    notebook.end_run(run, "finished", "finished")
    notebook.close()
    again = Notebook(tmp_path / "n.db", read_only=True)
    row = again.run(run)
    (exposure,) = again.exposures(run)
    assert (row.plan, row.state, row.delay_s, row.recovery_s, row.recipe) == (PLAN, "finished", 0.1, 2.0, "r")
    assert (exposure.seen_us, exposure.low_us, exposure.why) == (3_000_000, 8_100_001, "complete")
    again.close()


def test_a_continued_run_is_not_offered_again(tmp_path: Path) -> None:
    notebook = Notebook(tmp_path / "n.db")
    first = notebook.begin_run(PLAN)
    assert notebook.unfinished() == []  # no light yet: nothing that could be missing
    notebook.intend(new_row(first, 0, 1, "patches 1 to 3", 8.0, 8_000_000))
    assert [row.id for row in notebook.unfinished()] == [first]
    second = notebook.begin_run(PLAN, continues=first)
    assert [row.id for row in notebook.runs()] == [second, first]
    assert notebook.run(first).state == "continued"
    assert [row.id for row in notebook.unfinished()] == [second]  # the rest, though it has had no light yet
    notebook.end_run(second, "finished", "")
    assert notebook.unfinished() == []


def test_every_unfinished_sheet_stays(tmp_path: Path) -> None:
    notebook = Notebook(tmp_path / "n.db")
    runs = [notebook.begin_run(PLAN) for _ in range(3)]
    for run in runs[:2]:
        notebook.intend(new_row(run, 0, 1, "patches 1 to 3", 8.0, 8_000_000))
    notebook.fact(runs[0], 0, 100, 200, "keeper_lost")
    notebook.fact(runs[1], 0, 0, 0, "not_lit")
    assert [row.id for row in notebook.unfinished()] == [runs[0]]
    notebook.fact(runs[1], 0, 0, None, "unseen")
    assert [row.id for row in notebook.unfinished()] == [runs[1], runs[0]]
    notebook.close()


def test_exposures_have_names_that_no_other_has() -> None:
    names = {new_row(1, 0, 0, "x", 1.0, 1).name for _ in range(10_000)}
    assert len(names) == 10_000
    assert all(0 < name < 2**63 for name in names)


@pytest.mark.parametrize("how", ["deleted", "moved", "replaced"])
def test_a_notebook_that_is_taken_away_is_noticed_before_the_next_light(tmp_path: Path, how: str) -> None:
    path = tmp_path / "n.db"
    notebook = Notebook(path)
    run = notebook.begin_run(PLAN)
    notebook.intend(new_row(run, 0, 0, "x", 1.0, 1))
    if how == "deleted":
        path.unlink()
    else:
        path.rename(tmp_path / "elsewhere.db")
    if how == "replaced":
        Notebook(path).close()
    with pytest.raises(NotebookError, match="deleted, moved or replaced"):
        notebook.intend(new_row(run, 1, 0, "x", 1.0, 1))
    notebook.close()


def test_a_write_outside_is_a_sentence_and_nothing_is_kept(tmp_path: Path) -> None:
    notebook = Notebook(tmp_path / "n.db")
    with pytest.raises(NotebookError):
        notebook.intend(new_row(99, 0, 0, "no such run", 1.0, 1))
    run = notebook.begin_run(PLAN)
    notebook.intend(new_row(run, 0, 1, "x", 1.0, 1))
    notebook._db.execute("PRAGMA max_page_count = 1")
    with pytest.raises(NotebookError, match="full"):
        for _ in range(200):
            notebook.begin_run(PLAN, recipe="x" * 4000)
    assert len(notebook.exposures(run)) == 1
    notebook.close()


@pytest.mark.parametrize("content", [b"not a database at all" * 100, b"SQLite format 3\0" + b"\xff" * 5000])
def test_a_damaged_notebook_is_a_sentence(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "n.db"
    path.write_bytes(content)
    with pytest.raises(NotebookError, match="damaged|cannot be used"):
        Notebook(path)
    assert path.read_bytes() == content


def test_no_notebook_where_none_can_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(NotebookError):
        Notebook(tmp_path / "file" / "n.db")
    with pytest.raises(NotebookError):
        Notebook(tmp_path)
    with pytest.raises(NotebookError, match="cannot be opened"):
        Notebook(tmp_path / "none.db", read_only=True)


def test_a_newer_notebook_is_left_alone(tmp_path: Path) -> None:
    db = sqlite3.connect(tmp_path / "n.db")
    db.execute("PRAGMA user_version = 99")
    db.close()
    with pytest.raises(NotebookError, match="newer Lamphouse"):
        Notebook(tmp_path / "n.db")


def test_the_writer_keeps_order_and_stops_at_the_first_failure() -> None:
    done: list[str] = []
    failures: list[LamphouseError] = []
    writer = Writer(failures.append)

    def fail() -> None:
        raise NotebookError("full")

    writer.submit(lambda: done.append("a"), lambda: done.append("then"))
    writer.submit(fail, lambda: done.append("never"))
    writer.submit(lambda: done.append("never"))
    writer.finish()
    assert done == ["a", "then"]
    assert [str(f) for f in failures] == ["full"]


def test_a_writer_that_fails_in_a_way_nobody_thought_of_says_so_too() -> None:
    failures: list[LamphouseError] = []
    writer = Writer(failures.append)
    writer.submit(lambda: [][0])
    writer.finish()
    assert "IndexError" in str(failures[0])


def test_after_a_failure_the_writer_still_tries_what_must_be_kept() -> None:
    """Another program held the notebook for a while: what the light gave is not lost with what was certain of it before."""
    done: list[str] = []
    failures: list[LamphouseError] = []
    writer = Writer(failures.append)

    def fail() -> None:
        raise NotebookError("another program holds it")

    writer.submit(fail)
    writer.submit(lambda: done.append("progress"))
    writer.submit(lambda: done.append("fact"), lambda: done.append("then"), final=True)
    writer.submit(fail, final=True)
    writer.finish()
    assert done == ["fact"]
    assert [str(failure) for failure in failures] == ["another program holds it"]
    assert writer.error is failures[0]


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    with Notebook(tmp_path / "n.db") as opened:
        yield opened


def _broken_off(notebook: Notebook) -> int:
    run = notebook.begin_run(PLAN)
    notebook.intend(new_row(run, 0, 1, "x", 1.0, 1_000_000))
    notebook.fact(run, 0, 400_000, 400_000, "signal")
    return run


def test_a_program_that_was_stopped_for_long_does_not_offer_its_sheet_again(notebook: Notebook) -> None:
    """Stopped with its run paused, its keeper ended, the sheet resumed and finished; then it goes on, and says how it ended."""
    first = _broken_off(notebook)
    second = notebook.begin_run(PLAN, continues=first)
    notebook.end_run(second, "finished", "")
    notebook.end_run(first, "failed", "the lamp was switched off from elsewhere")
    assert notebook.run(first).state == "continued"
    assert notebook.unfinished() == []


def test_a_sheet_that_was_given_up_stays_so_unless_it_is_finished(notebook: Notebook) -> None:
    run = _broken_off(notebook)
    notebook.end_run(run, "forgotten", "given up by you")
    notebook.end_run(run, "stopped", "stopped by you")
    assert notebook.run(run).state == "forgotten"
    notebook.end_run(run, "finished", "")
    assert notebook.run(run).state == "finished"


@pytest.mark.parametrize("how", ["continued", "finished", "forgotten"])
def test_what_a_sheet_lacks_is_given_once(notebook: Notebook, how: str) -> None:
    """Two that resume it: the one that comes later has counted before the other began."""
    first = _broken_off(notebook)
    if how == "continued":
        notebook.begin_run(PLAN, continues=first)
    else:
        notebook.end_run(first, how, "")
    before = len(notebook.runs())
    with pytest.raises(NotebookError, match="no unfinished sheet"):
        notebook.begin_run(PLAN, continues=first)
    assert len(notebook.runs()) == before
