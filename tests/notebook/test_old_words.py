"""A notebook that was written with other words for paper and head opens, reads and prints as if it had today's."""

import sqlite3
from pathlib import Path

import pytest

from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError
from timer.notebook import backup, old_words, paper_out
from timer.notebook.rows import bears_red
from timer.notebook.store import Notebook
from timer.plans.print import print_plan
from timer.plans.stored import encode_plan, plan_hash

NOW = 'recipe = 1\ntitle = "Gate"\nbase_s = 10\n[paper]\nkind = "bw"\n'
HERE = Path(__file__).parent


def old(notebook: Notebook, run: int) -> None:
    """The words of this run, and its plan's hash, as they were written before."""
    made = print_plan(parse_recipe(NOW))
    stored = encode_plan(made).decode().replace('"paper":"bw"', '"paper":"silver"')
    assert stored != encode_plan(made).decode()
    import hashlib

    mark = hashlib.sha256(stored.encode()).hexdigest()
    recipe = NOW.replace('"bw"', "'silver'")
    with sqlite3.connect(notebook.path) as book:
        book.execute(
            "UPDATE run SET paper = 'silver', plan = ?, plan_hash = ?, recipe = ? WHERE id = ?", (stored, mark, recipe, run)
        )
    assert plan_hash(made) != mark


def test_a_run_of_old_words(tmp_path: Path) -> None:
    notebook = Notebook(tmp_path / "book.db")
    run = notebook.begin_run(print_plan(parse_recipe(NOW)), recipe=NOW)
    old(notebook, run)
    row = notebook.run(run)
    assert (row.paper, row.plan.paper, row.damage) == ("bw", "bw", "")
    assert parse_recipe(row.recipe).paper.kind == "bw"
    notebook.close()


def test_paper_that_lay_out_in_old_words_is_as_safe_as_before(tmp_path: Path) -> None:
    notebook = Notebook(tmp_path / "book.db")
    paper_out.open_box(notebook, "silver")
    (out,) = paper_out.all_out(notebook)
    assert out.kind == "bw" and str(out).startswith("black-and-white paper, since")
    assert bears_red([out])
    notebook.close()


def test_a_notebook_of_version_1_has_old_words_and_nothing_wrong(tmp_path: Path) -> None:
    path = tmp_path / "old.db"
    book = sqlite3.connect(path)
    book.executescript((HERE / "version1.sql").read_text())
    assert book.execute("SELECT count(*) FROM run WHERE paper = 'silver'").fetchone()[0]
    book.close()
    notebook = Notebook(path)
    assert backup.check(notebook) == []
    for row in notebook.runs():
        assert row.paper in ("", "bw") and row.damage == ""
        if row.recipe:
            assert parse_recipe(row.recipe).paper.kind == "bw"
    notebook.close()


@pytest.mark.parametrize(("was", "now"), [("gel", "cp"), ("dial", "dichroic"), ("additive", "additive")])
def test_heads(was: str, now: str) -> None:
    assert old_words.recipe(f'[filters]\nhead="{was}"\n') == f'[filters]\nhead="{now}"\n'


def test_nothing_but_those_words_is_touched() -> None:
    text = 'title = "silver gel on the dial"\nnotes = "kind = silver"\nheadway = "dial"\n'
    assert old_words.recipe(text) == text
    assert [old_words.paper(kind) for kind in ("silver", "ra4", "", 7, None, b"silver")] == [
        "bw",
        "ra4",
        "",
        7,
        None,
        b"silver",
    ]


def test_a_file_of_old_words_is_told_the_new_ones() -> None:
    with pytest.raises(LamphouseError, match=r"bw, ra4 or pan|bw"):
        parse_recipe(NOW.replace('"bw"', '"silver"'))
