"""A plan as it is stored and as scripts read it: JSON, checked when it is read."""

import hashlib
from dataclasses import replace
from typing import Any

import msgspec

from timer.craft.dodge_burn import SMALLEST_S as SMALLEST_S
from timer.documents.recipe import GRADES
from timer.plans.model import Plan
from timer.text import UNFIT, plain


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan as plain data for ``--json``: the dataclass, and its total."""
    data: dict[str, Any] = msgspec.to_builtins(plan)
    data["total_light_s"] = plan.total_light_s
    return data


def encode_plan(plan: Plan) -> bytes:
    """JSON that ``decode_plan`` reads again."""
    return msgspec.json.encode(plan)


MAX_STEPS = 1000
MAX_LETTERS = 4 * 2**20
LONGEST_S = 36_000.0


def decode_plan(data: bytes | str) -> Plan:
    """The plan in ``data``, its text plain. msgspec.DecodeError for anything that no plan of ours is."""
    if len(data) > MAX_LETTERS:
        raise msgspec.DecodeError(f"{len(data)} letters are too many for a plan")
    try:
        plan = msgspec.json.decode(data, type=Plan)
    except (RecursionError, UnicodeError) as error:
        raise msgspec.DecodeError(str(error)) from None
    fault = _unsound(plan)
    if fault:
        raise msgspec.ValidationError(fault)
    text = data if isinstance(data, str) else data.decode()
    # What acts stands there as it is, or as one of JSON's escapes.
    return _plain(plan) if "\\u" in text or UNFIT.search(text) else plan


def _unsound(plan: Plan) -> str:
    """What is wrong with it, in words; empty when it is a plan of ours."""
    if len(plan.steps) > MAX_STEPS or len(plan.patches) > MAX_STEPS:
        return f"more than {MAX_STEPS} steps"
    exposes = False
    for filters in (*(step.filters for step in plan.steps), *(patch.filters for patch in plan.patches)):
        if filters.startswith("grade ") and filters.removeprefix("grade ") not in GRADES:
            return f"there is no {filters[:40]!r}"
    for n, step in enumerate(plan.steps):
        if step.do == "expose":
            exposes = True
            if not 0 < step.seconds <= LONGEST_S:
                return f"step {n} exposes for {step.seconds:g} s"
        if len(step.marks) > MAX_STEPS:
            return f"step {n} has too many cues"
        for mark in step.marks:
            if not 0 <= mark.at <= LONGEST_S:
                return f"step {n} has a cue at {mark.at:g} s"
    for patch in plan.patches:
        if not (0 < patch.seconds <= LONGEST_S and abs(patch.stops) <= 100):
            return f"patch {patch.patch} has seconds or stops that cannot be"
    return "" if exposes else "it exposes nothing"


def _plain(plan: Plan) -> Plan:
    """``plan`` with replacement signs for what would act on a terminal."""
    steps = tuple(
        replace(
            step,
            say=plain(step.say),
            area=plain(step.area),
            filters=plain(step.filters),
            marks=tuple(replace(mark, say=plain(mark.say)) for mark in step.marks),
        )
        for step in plan.steps
    )
    patches = tuple(replace(patch, filters=plain(patch.filters)) for patch in plan.patches)
    notes = tuple(plain(note) for note in plan.notes)
    return Plan(plan.kind, plain(plan.title), steps, patches, notes, plain(plan.paper))


def plan_hash(plan: Plan) -> str:
    """SHA-256 of the stored form; two runs of one plan share it."""
    return hashlib.sha256(encode_plan(plan)).hexdigest()
