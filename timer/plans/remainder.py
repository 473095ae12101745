"""The light that an interrupted sheet is still missing."""

from dataclasses import replace

from timer.craft.dodge_burn import SMALLEST_S as SMALLEST_S
from timer.errors import LamphouseError
from timer.plans.model import Plan, Step


def worth_giving(missing: float) -> float:
    """Full-light seconds to give for what is ``missing``: no light is shorter than SMALLEST_S, so of less than that it is
    all or nothing, whichever is nearer."""
    return max(missing, SMALLEST_S) if missing >= SMALLEST_S / 2 else 0.0


def rest_of(plan: Plan, given: dict[int, float]) -> Plan:
    """What is left of ``plan`` when step n (an index of ``steps``) has had ``given[n]`` full-light seconds.

    Steps before the last one given are done; that one is shortened by its light, its marks moved with it.
    LamphouseError when nothing is left.
    """
    if not given:
        return replace(plan, kind="rest")
    at = max(given)
    left: list[Step] = []
    for n, step in enumerate(plan.steps):
        missing = worth_giving(step.seconds - given.get(n, 0.0))
        if step.do == "expose" and n <= at and missing:
            if n < at:
                raise LamphouseError(f"step {n + 1} ({step.area}) lacks {missing:.3f} s but later steps were given")
            hands = _hands(plan, n, given[n])
            left.append(Step("wait", f"as it was, nothing moved: {hands}", step.area, filters=step.filters))
            left.append(_shortened(step, given[n]))
        elif n > at:
            left.append(step)
    if not any(step.do == "expose" for step in left):
        raise LamphouseError("nothing is missing: every exposure of this sheet was given in full")
    return replace(plan, kind="rest", steps=tuple(left))


def _hands(plan: Plan, n: int, given: float) -> str:
    """What the hands do when the light goes on again: the last change that was past, else what was said before it."""
    past = [m.say for m in plan.steps[n].marks if m.cue == "change" and m.at <= given]
    waits = [step.say for step in plan.steps[:n] if step.do == "wait"]
    return past[-1] if past else waits[-1] if waits else plan.steps[n].say


def _shortened(step: Step, given: float) -> Step:
    held = [m for m in step.marks if m.cue == "change" and m.at <= given]
    say = f"{step.area}: {held[-1].say}" if held else step.say
    marks = tuple(replace(m, at=m.at - given) for m in step.marks if m.at > given)
    return replace(step, say=say, seconds=worth_giving(step.seconds - given), marks=marks)
