"""That paper is out: on no run and no clock, from before the box is opened to the printer's word."""

import sqlite3
from pathlib import Path

import pytest

from timer.documents.recipe_file import parse_recipe
from timer.errors import NotebookError
from timer.notebook import paper_out
from timer.notebook.rows import bears_red
from timer.notebook.store import Notebook
from timer.plans.print import print_plan

PLAN = print_plan(parse_recipe('recipe = 1\ntitle = "x"\nbase_s = 4.0\n[paper]\nkind = "ra4"\n'))


@pytest.fixture
def notebook(tmp_path: Path) -> Notebook:
    return Notebook(tmp_path / "n.db")


def test_out_until_the_word(notebook: Notebook) -> None:
    assert paper_out.all_out(notebook) == ()
    paper_out.open_box(notebook, "bw")
    (out,) = paper_out.all_out(notebook)
    assert (out.kind, out.run) == ("bw", None)
    assert len(out.clock) == 5
    assert bears_red([out])
    paper_out.cover(notebook)
    assert paper_out.all_out(notebook) == ()
    notebook.close()


def test_it_is_committed_when_it_returns(notebook: Notebook, tmp_path: Path) -> None:
    paper_out.open_box(notebook, "ra4")
    other = sqlite3.connect(f"{(tmp_path / 'n.db').as_uri()}?mode=ro", uri=True)
    assert other.execute("SELECT kind, covered FROM paper_out").fetchall() == [("ra4", None)]
    other.close()
    notebook.close()


def test_runs_come_and_go_beside_it(notebook: Notebook) -> None:
    """No run, begun, ended, given up or newer, covers a sheet."""
    paper_out.open_box(notebook, "ra4")
    run = notebook.begin_run(PLAN)
    assert paper_out.all_out(notebook)[0].run == run
    notebook.end_run(run, "stopped", "stopped by you")
    rest = notebook.begin_run(PLAN, continues=run)
    assert paper_out.all_out(notebook)[0].run == rest  # the same sheet, in its next run
    notebook.end_run(rest, "forgotten", "given up by you")
    other = notebook.begin_run(PLAN)
    notebook.end_run(other, "finished", "finished")
    assert [paper.run for paper in paper_out.all_out(notebook)] == [rest]
    notebook.close()


def test_a_clock_that_jumps_forgets_nothing(notebook: Notebook) -> None:
    paper_out.open_box(notebook, "bw")
    for since in ("1970-01-01T00:00:00+00:00", "2099-01-01T00:00:00+00:00", "no time at all", "2026-01-01T00:00:00"):
        with notebook.commit():
            notebook.write("UPDATE paper_out SET since = ?", (since,))
        (out,) = paper_out.all_out(notebook)
        assert out.kind == "bw"
        assert out.clock == "" or ":" in out.clock
    notebook.close()


@pytest.mark.parametrize("kind", [b"\xff\xfe", 7, "silverr", "SILVER"])
def test_a_kind_that_is_none_bears_no_light(notebook: Notebook, kind: object) -> None:
    paper_out.open_box(notebook, "bw")
    with notebook.commit():
        notebook.write("UPDATE paper_out SET kind = ?", (kind,))
    assert not bears_red(paper_out.all_out(notebook))
    notebook.close()


def test_several_kinds_and_one_of_them_covered(notebook: Notebook) -> None:
    paper_out.open_box(notebook, "bw")
    second = paper_out.open_box(notebook, "ra4")
    assert not bears_red(paper_out.all_out(notebook))
    paper_out.cover(notebook, second)
    assert [paper.kind for paper in paper_out.all_out(notebook)] == ["bw"]
    notebook.close()


def test_what_cannot_be_written_leaves_the_box_shut(notebook: Notebook, tmp_path: Path) -> None:
    (tmp_path / "n.db").rename(tmp_path / "elsewhere.db")
    with pytest.raises(NotebookError, match="moved"):
        paper_out.open_box(notebook, "bw")
    notebook.close()


def test_two_threads_write_one_after_the_other(notebook: Notebook) -> None:
    import threading

    run = notebook.begin_run(PLAN)

    def work() -> None:
        for _ in range(50):
            paper_out.open_box(notebook, "bw")

    threads = [threading.Thread(target=work) for _ in range(3)]
    for thread in threads:
        thread.start()
    for _ in range(50):
        notebook.end_run(run, "finished", "")
        notebook.runs()
    for thread in threads:
        thread.join()
    assert len(paper_out.all_out(notebook)) == 150
    notebook.close()
