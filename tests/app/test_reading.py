"""A test is read days later, area by area, and what was read and corrected is written beside the print."""

import os
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from timer.app import writing
from timer.app.jobs import Job, load_job
from timer.app.reading import in_its_file, job_of_test
from timer.app.strip_choice import StripChoice
from timer.craft.read_by_area import ways
from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError
from timer.notebook import to_read
from timer.notebook.store import Notebook
from timer.plans.from_areas import read
from timer.plans.print import print_plan
from timer.plans.remainder import rest_of

STAIR = 'recipe = 1\ntitle = "Stair well"\nbase_s = 10.0\n[paper]\nkind = "bw"\n'


@pytest.fixture
def notebook(home: Path) -> Iterator[Notebook]:
    with Notebook(home / "notebook.db") as made:
        yield made


def test_days_later(home: Path, notebook: Notebook) -> None:
    path = home / "stair.toml"
    path.write_text(STAIR)
    job = load_job(path)
    test = StripChoice(seconds=10.0, patches=3, made_for=job).job()
    run = notebook.begin_run(test.plan, made_for=job.text)
    assert to_read.waiting(notebook) == []  # its light is not all given yet
    notebook.end_run(run, "finished", "finished")
    (waiting,) = to_read.waiting(notebook)
    assert (waiting.run, waiting.recipe) == (run, job.recipe)
    again = job_of_test(notebook, run)
    assert (again.plan, again.picks) == (test.plan, test.picks)
    assert again.made_for and again.made_for.recipe == job.recipe
    found = read(again.plan, [("window", Fraction(3)), ("wall", Fraction(3, 2))])
    burn = next(way for way in ways(found.areas, found.base) if way.how == "burn")
    made, written = writing.take_way(again, burn)
    assert made.recipe and [b.area for b in made.recipe.burn] == ["window"]
    assert made.recipe.title == "Stair well, read"
    corrected, _ = writing.write_corrected(made, [("window", Fraction(1, 3))])
    assert corrected.recipe and corrected.recipe.burn[0].stops == Fraction(5, 6)
    assert corrected.recipe.title == "Stair well, read, corrected"
    assert "is gone again" in writing.undo(written)
    assert path.read_text() == STAIR


def test_a_test_that_was_interrupted_waits_once_and_keeps_what_it_was_for(notebook: Notebook) -> None:
    test = StripChoice(seconds=10.0, patches=3).job()
    first = notebook.begin_run(test.plan, made_for=STAIR)
    notebook.end_run(first, "stopped", "stopped by you")
    lit = [n for n, step in enumerate(test.plan.steps) if step.do == "expose"]
    second = notebook.begin_run(rest_of(test.plan, {lit[0]: 4.0}), continues=first)
    notebook.end_run(second, "finished", "finished")
    (waiting,) = to_read.waiting(notebook)
    assert (waiting.run, waiting.made_for) == (second, STAIR)
    assert job_of_test(notebook, second).plan.patches == test.plan.patches
    to_read.mark(notebook, second, unread=False)
    assert to_read.waiting(notebook) == []


def test_what_is_no_test(notebook: Notebook, home: Path) -> None:
    path = home / "stair.toml"
    path.write_text(STAIR)
    job = load_job(path)
    assert job.recipe
    run = notebook.begin_run(print_plan(job.recipe), recipe=STAIR)
    with pytest.raises(LamphouseError, match="is no test"):
        job_of_test(notebook, run)
    with pytest.raises(LamphouseError, match="made for no print"):
        writing.take_way(StripChoice().job(), ways(read(StripChoice().job().plan, [("a", Fraction(2))]).areas)[0])
    with pytest.raises(LamphouseError, match="there is no sheet 99"):
        to_read.mark(notebook, 99, unread=False)


def test_of_two_files_with_one_title_a_test_goes_into_its_own(home: Path) -> None:
    folder = home / "recipes"
    folder.mkdir()
    text = 'recipe = 1\ntitle = "stair"\nbase_s = 8.0\n[paper]\nkind = "bw"\n[enlargement]\nsheet = "18x24cm"\n'
    for name, changed in (
        ("small", text),
        ("large", text.replace("18x24cm", "30x40cm")),
        ("dark", text.replace("8.0", "9.0")),
    ):
        (folder / f"{name}.toml").write_text(changed)
    for name in ("small", "large", "dark"):
        kept = replace(load_job(folder / f"{name}.toml"), path=None)
        assert in_its_file(kept).path == folder / f"{name}.toml"
    (folder / "large.toml").write_text(text.replace("18x24cm", "30x40cm").replace("8.0", "20.0"))  # it has a new base by now
    os.utime(folder / "small.toml")  # and the other one is the newest
    large = parse_recipe(text.replace("18x24cm", "30x40cm"))
    assert in_its_file(Job(print_plan(large), "", None, large)).path == folder / "large.toml"
