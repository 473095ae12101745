"""A plan in rows, for the pages that show one before any light."""

from timer.plans.model import Plan


def plan_rows(plan: Plan) -> list[str]:
    """One row an exposure, with its seconds; changes within it below."""
    rows = []
    for step in plan.steps:
        if step.do == "expose":
            rows.append(f"{step.seconds:7.2f} s  {step.area}" + (f"  {step.filters}" if step.filters else ""))
            first = step.say.removeprefix(f"{step.area}: ")
            if first not in (step.say, "all clear"):
                rows.append(f"   {0:6.2f}    {first}")
            rows += [f"   {mark.at:6.2f}    {mark.say}" for mark in step.marks if mark.cue == "change"]
    return [*rows, "", f"{plan.total_light_s:7.2f} s  in all"]
