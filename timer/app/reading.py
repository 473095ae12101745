"""Tests that wait in the notebook, taken up again days later as what they were: a plan, and the print they were made for."""

from dataclasses import replace
from pathlib import Path

from timer.app.jobs import Job
from timer.app.picks import picks_of
from timer.app.recipes import find_recipes
from timer.craft.read_by_area import Way
from timer.documents.files import must_be_free, write_new
from timer.documents.recipe import Paper, Recipe
from timer.documents.recipe_file import recipe_toml
from timer.errors import LamphouseError
from timer.notebook import to_read
from timer.notebook.store import Notebook
from timer.plans.from_areas import printed
from timer.plans.print import print_plan
from timer.plans.split_grade import split_in, split_recipe


def job_of_test(notebook: Notebook, run: int) -> Job:
    """The test of sheet ``run``, as it was before its light. LamphouseError for a sheet that is no test, or is damaged."""
    row, test = notebook.run(run), to_read.find(notebook, run)
    if row.damage:
        raise LamphouseError(f"run {run}: {row.damage}")
    if not row.plan.patches:
        raise LamphouseError(f"run {run} ({row.title}) is no test: it has no patches to be read")
    if row.state != "finished":
        raise LamphouseError(f"run {run} did not have all its light ({row.state}), so its patches are not what it says")
    recipe = test.recipe
    made_for = Job(print_plan(recipe), test.made_for, None, recipe) if recipe else None
    return Job(row.plan, made_for=made_for, picks=picks_of(row.plan, recipe, recipe.filters.head if recipe else ""))


def begun_for(test: Job, title: str, negative: str = "") -> Recipe:
    """The recipe that what is read of ``test`` changes: its print's, or one with nothing in it yet."""
    if test.made_for and test.made_for.recipe:
        return test.made_for.recipe
    kind = test.plan.paper or "bw"
    return Recipe(recipe=1, title=title[:60], base_s=1.0, paper=Paper(kind), negative=negative)  # type: ignore[arg-type]


def write_way(output: Path, test: Job, way: Way, begin: Recipe, source: str) -> str:
    """Write, at ``output``, ``begin`` printed the ``way`` that was read from ``test``, which is called ``source``; the text.

    LamphouseError, and nothing written, where the name is taken or the print could not be made.
    """
    must_be_free(output)
    text = recipe_toml(printed(way, begin, split_in(test.plan, begin), source))
    write_new(output, text.encode())
    return text


def for_its_file(test: Job) -> Job:
    """``test`` made for its print as that is now, in its file; as it is where no file has that print any more."""
    return replace(test, made_for=in_its_file(test.made_for)) if test.made_for else test


def in_its_file(job: Job) -> Job:
    """The print ``job`` as it is now, in its file; as it is where no file has it any more."""
    target = job.recipe
    if not target:
        return job
    there = [each for each in find_recipes().jobs if each.path and each.recipe and _same(each.recipe, target)]
    return max(there, key=lambda each: _likeness(each, job), default=job)


def _likeness(one: Job, other: Job) -> tuple[bool, bool, bool]:
    """How much of ``other`` is in ``one``, of several that share a title: all of it, how the enlarger stands, its areas."""
    assert one.recipe and other.recipe
    mine, theirs = one.recipe, other.recipe
    stands = (mine.enlargement, mine.filters) == (theirs.enlargement, theirs.filters)
    return one.text == other.text, stands, (mine.base_s, mine.dodge, mine.burn) == (theirs.base_s, theirs.dodge, theirs.burn)


def _same(one: Recipe, other: Recipe) -> bool:
    return (one.title, one.negative, one.paper.kind) == (other.title, other.negative, other.paper.kind)


def kept_for(test: Job) -> str:
    """The recipe that ``test`` is kept with in the notebook: what it was made for, or nothing.

    Of a strip over a first exposure that is the split-grade print already: days later it says what the strip lies over.
    """
    target, split = test.made_for, test.picks[0].split if test.picks else None
    if not target or not target.recipe:
        return ""
    if not split:
        return target.text
    return recipe_toml(split_recipe(target.recipe, split.first, split.first_s, split.second, test.picks[0].seconds))
