"""What a test says goes into the print that it was made for, where it is said to go, and can be taken back."""

import hashlib
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from timer.app import writing
from timer.app.archive import Archive
from timer.app.jobs import Job, load_job
from timer.app.picks import Pick, file_name, titled
from timer.app.strip_choice import StripChoice
from timer.documents.recipe_file import load_recipe
from timer.errors import LamphouseError
from timer.notebook.store import Notebook
from timer.plans.recipe_change import RecipeChange

RECIPE = """# my own
recipe = 1
title = "Stair well"
base_s = 10.0  # by eye
[paper]
kind = "{kind}"
[filters]
{filters}
"""


@pytest.fixture
def colour(home: Path) -> Job:
    path = home / "stair.toml"
    path.write_text(RECIPE.format(kind="ra4", filters='m = 60\ny = 50\nhead = "dichroic"'))
    return load_job(path)


@pytest.fixture
def bw(home: Path) -> Job:
    path = home / "stair.toml"
    path.write_text(RECIPE.format(kind="bw", filters='grade = "2"'))
    return load_job(path)


def test_what_a_recipe_came_from(bw: Job, home: Path) -> None:
    """Of a file its name, of a sheet of the notebook its run; and in both the mark of the text that it was made of."""
    mark = hashlib.sha256(bw.text.encode()).hexdigest()
    with Notebook(home / "notebook.db") as notebook:
        run = notebook.begin_run(bw.plan, recipe=bw.text)
        again = Archive(notebook).again(notebook.run(run))
    for job, source in ((bw, "stair.toml"), (again, f"run {run}")):
        made = writing.derived(job, RecipeChange(grade="3")).recipe.derived
        assert made and (made.title, made.file, made.sha256) == ("Stair well", source, mark)


def test_a_strips_time_goes_into_its_print_in_one_line(bw: Job) -> None:
    assert bw.path
    before = bw.path.read_text()
    test = StripChoice(made_for=bw).job()
    assert "made for: Stair well" in test.plan.notes
    made, written = writing.take(test, Pick(13.337))
    assert made.recipe and made.recipe.base_s == 13.34
    assert bw.path.read_text() == before.replace("base_s = 10.0 ", "base_s = 13.34 ")
    assert written.says == "stair.toml: base 10 s to 13.34 s (Stair well)"
    assert writing.undo(written) == "stair.toml is as it was"
    assert bw.path.read_text() == before


def test_a_strip_of_another_paper_says_nothing(bw: Job) -> None:
    test = StripChoice(made_for=bw, paper="ra4").job()
    with pytest.raises(LamphouseError, match="a test on colour paper says nothing of 'Stair well', on black-and-white"):
        writing.take(test, Pick(13.0))
    with pytest.raises(LamphouseError, match="made for no print"):
        writing.take(StripChoice().job(), Pick(13.0))


def test_a_packs_pick_makes_a_recipe_beside_with_the_pack_and_its_time(colour: Job) -> None:
    test = Job(StripChoice(paper="ra4").job().plan, made_for=colour)
    made, written = writing.take(test, Pick(10.5, pack="65M 50Y", head="dichroic"))
    assert colour.path and load_recipe(colour.path).base_s == 10.0
    assert made.path and made.path.name == "stair-65m50y.toml"
    recipe = load_recipe(made.path)
    assert (recipe.title, recipe.base_s, recipe.filters.m, recipe.filters.y) == ("Stair well, 65M 50Y", 10.5, 65, 50)
    assert recipe.derived and recipe.derived.title == "Stair well"
    assert "65M 50Y" in recipe.derived.says[0]
    assert writing.undo(written) == "stair-65m50y.toml is gone again"
    assert not made.path.exists()


@pytest.mark.parametrize("had", ["", "dry_down_percent = 8\n"])
def test_a_dry_down_sets_percentage_goes_into_its_line_or_a_new_one(bw: Job, had: str) -> None:
    assert bw.path
    bw.path.write_text(bw.path.read_text().replace("[paper]", f"{had}[paper]"))
    job = load_job(bw.path)
    made, _ = writing.take(Job(StripChoice().job().plan, made_for=job), Pick(9.0, dry_down=10.0))
    assert made.recipe and (made.recipe.dry_down_percent, made.recipe.base_s) == (10.0, 10.0)
    assert "# by eye" in bw.path.read_text()


def test_nothing_is_taken_back_that_was_changed_since(bw: Job) -> None:
    assert bw.path
    _, written = writing.take(StripChoice(made_for=bw).job(), Pick(12.0))
    bw.path.write_text(bw.path.read_text() + "# and on\n")
    with pytest.raises(LamphouseError, match="changed since"):
        writing.undo(written)


def test_a_print_of_the_notebook_gets_a_file_of_its_own_name(bw: Job, home: Path) -> None:
    """Not of the example's, and never over one that is there."""
    again = replace(bw, path=None)
    for name in ("stair-well.toml", "stair-well-2.toml"):
        made, _ = writing.take(StripChoice(made_for=again).job(), Pick(11.0))
        assert made.path == home / "recipes" / name
    derived, _ = writing.write_derived(again, RecipeChange(stops=Fraction(1, 3)), "corrected")
    assert derived.path and derived.path.name == "stair-well-corrected.toml"


def test_no_two_titles_of_one_print_are_alike(bw: Job) -> None:
    titles = ["Stair well"]
    job = bw
    for _ in range(3):
        job, _ = writing.write_derived(job, RecipeChange(stops=Fraction(1, 6)), "corrected")
        titles.append(job.plan.title)
    assert len(set(titles)) == 4, titles
    assert all(title.startswith("Stair well") and len(title) <= 60 for title in titles)


@pytest.mark.parametrize(
    ("title", "word", "number", "made"),
    [
        ("Gate", "18x24cm", 1, "Gate, 18x24cm"),
        ("Gate, 18x24cm", "8x10in", 1, "Gate, 8x10in"),
        ("Gate, 18x24cm", "corrected", 1, "Gate, 18x24cm, corrected"),
        ("Gate, corrected", "corrected", 2, "Gate, corrected 2"),
        ("G" * 60, "corrected", 1, "G" * 49 + ", corrected"),
    ],
)
def test_titles(title: str, word: str, number: int, made: str) -> None:
    assert titled(title, word, number) == made


def test_file_names() -> None:
    assert file_name("Bicycle workshop") == "bicycle-workshop"
    assert file_name("…") == "print"
