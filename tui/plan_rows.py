"""A plan in rows, for the pages that show one before any light."""

from rich.cells import cell_len

from timer.app.jobs import Job
from timer.craft.stops import listed
from timer.plans import recipe_rows
from timer.plans.model import Plan
from tui.widgets.lines import fitted

NAME_WIDE = 22
"""Cells of an area's name: a longer one must not push its stops and seconds off the page."""
LIGHT = ("base", "dodge", "burn", "edges", "flash")


def plan_rows(plan: Plan) -> list[str]:
    """One row an exposure, with its seconds; changes within it below."""
    rows = []
    for step in plan.steps:
        if step.do == "expose":
            rows.append(f"{listed(step.seconds):>7} s  {step.area}" + (f"  {step.filters}" if step.filters else ""))
            first = step.say.removeprefix(f"{step.area}: ")
            if first not in (step.say, "all clear"):
                rows.append(f"   {0:6.2f}    {first}")
            rows += [f"   {listed(mark.at):>6}    {mark.say}" for mark in step.marks if mark.cue == "change"]
    return [*rows, "", f"{plan.listed_total:>7} s  in all"]


def job_rows(job: Job) -> list[str]:
    """The table of what is exposed: of a print what is done to each area, in stops and seconds; of a test each exposure."""
    if not job.recipe:
        return plan_rows(job.plan)
    rows = [row for row in recipe_rows.rows(recipe_rows.opened(job.recipe)) if row.kind in LIGHT and row.seconds]
    names = min(NAME_WIDE, max(cell_len(row.name) for row in rows))
    kinds = max(6, *(len(row.word) for row in rows))
    table = [f"{row.word:{kinds}} {fitted(row.name, names)} {row.amount:>6}  {row.seconds:>10}".rstrip() for row in rows]
    return [*table, "─" * max(map(cell_len, table)), total(job.plan)]


def total(plan: Plan) -> str:
    """How many exposures, and their light in all."""
    count = sum(step.do == "expose" for step in plan.steps)
    return f"{count} exposure{'' if count == 1 else 's'}   {plan.total_light_s:.1f} s of light"
