"""Tests that wait in the notebook, taken up again days later as what they were: a plan, and the print they were made for."""

from timer.app.jobs import Job
from timer.app.picks import Pick
from timer.errors import LamphouseError
from timer.notebook import to_read
from timer.notebook.store import Notebook
from timer.plans.print import print_plan


def job_of_test(notebook: Notebook, run: int) -> Job:
    """The test of sheet ``run``, as it was before its light. LamphouseError for a sheet that is no test, or is damaged."""
    row, test = notebook.run(run), to_read.find(notebook, run)
    if row.damage:
        raise LamphouseError(f"run {run}: {row.damage}")
    if not row.plan.patches:
        raise LamphouseError(f"run {run} ({row.title}) is no test: it has no patches to be read")
    recipe = test.recipe
    made_for = Job(print_plan(recipe), test.made_for, None, recipe) if recipe else None
    packs = len({patch.filters for patch in row.plan.patches}) > 1
    head = recipe.filters.head if recipe else ""
    picks = tuple(Pick(p.seconds, p.filters if packs else "", head if packs else "") for p in row.plan.patches)
    return Job(row.plan, made_for=made_for, picks=picks)
