"""Plans and runs as text and as JSON."""

import json
from typing import TYPE_CHECKING, Any

import click
import msgspec

from timer.craft.stops import listed, stops_text
from timer.notebook.light import WORDS, Light, booked, full_seconds, range_text
from timer.notebook.rows import ExposureRow
from timer.plans.model import Plan, Step
from timer.plans.stored import plan_json
from timer.text import UNFIT

if TYPE_CHECKING:
    from timer.run.session import Result


def echo_json(data: Any) -> None:
    """As JSON, with what would act on a terminal as JSON's own escapes: the value is kept, the terminal too."""
    try:
        text = msgspec.json.format(msgspec.json.encode(data)).decode()
    except UnicodeEncodeError:  # half a pair, from a file's name
        text = json.dumps(msgspec.to_builtins(data), indent=2)
    click.echo(UNFIT.sub(lambda found: json.dumps(found[0])[1:-1], text))


def echo_plan(plan: Plan, *, as_json: bool) -> None:
    """Print ``plan``, as lines to read or as JSON."""
    if as_json:
        echo_json(plan_json(plan))
    else:
        click.echo("\n".join(plan_lines(plan)))


def plan_lines(plan: Plan) -> list[str]:
    """The plan as a printer reads it before the lights go out."""
    lines = [plan.title, ""]
    if plan.patches:
        lines.append("patch   stops   seconds")
        lines += [f"{p.patch:5}  {stops_text(p.stops):>6}  {listed(p.seconds):>8}" for p in plan.patches]
        lines.append("")
    number = 0
    for step in plan.steps:
        if step.do == "wait":
            lines.append(f"      dark  {step.say}")
        elif step.do == "expose":
            number += 1
            filters = f"  [{step.filters}]" if step.filters else ""
            lines.append(f"{number:3}. {listed(step.seconds):>7} s  {step.area}{filters}")
            lines += _mark_lines(step)
    lines.append("")
    lines += [f"- {note}" for note in plan.notes]
    lines.append(f"- light in all: {plan.listed_total} s in {number} exposures")
    return lines


def _mark_lines(step: Step) -> list[str]:
    changes = [mark for mark in step.marks if mark.cue == "change"]
    if not changes:
        return []
    first = [f"              0.00 s  {step.say.removeprefix(step.area + ': ')}"]
    return first + [f"           {listed(mark.at):>7} s  {mark.say}" for mark in changes]


def run_json(result: "Result") -> dict[str, Any]:
    """``asked_s`` and ``delivered_s`` are full-light seconds; ``on_time_s`` is lamp-on time, edge to edge."""
    return {
        "run": result.run,
        "state": result.state.value,
        "says": result.says,
        "exposures": [exposure_json(row, result) for row in result.exposures],
    }


def exposure_json(row: ExposureRow, result: "Result") -> dict[str, Any]:
    """One exposure for JSON: asked, on-time and delivered in s, and by how many µs its edges missed the order (None when it
    was cut short, or ended by its light)."""
    data: dict[str, Any] = {"label": row.label, "asked_s": row.asked_s}
    light = booked(row) or Light(row.seen_us, None, "`resume` finds out")
    low, high = full_seconds(light, result.response, row.dose_s)
    if light.high_us is None or high is None:  # nobody knows how much more it was
        on_s, given, data["delivered_range_s"] = light.low_us / 1e6, low, [low, None]
    else:
        on_s, given = (light.low_us + light.high_us) / 2e6, (low + high) / 2
        if low != high:
            data["delivered_range_s"] = [low, high]
    # How far the edges were from the order; of no meaning for one that was cut short, or ended by its light.
    exact = row.why == "complete" and row.dose_s is None
    error_us = round(on_s * 1e6) - (row.ordered_us - row.cut_us) if exact else None
    return data | {"on_time_s": on_s, "delivered_s": given, "error_us": error_us, "why": light.why}


def result_lines(result: "Result") -> list[str]:
    """A run for the eye: how it ended, then a line an exposure, in s and µs."""
    lines = [f"run {result.run}: {result.state.value}" + (f" ({result.says})" if result.says != result.state.value else "")]
    for row in result.exposures:
        made = exposure_json(row, result)
        low, high = made.get("delivered_range_s", [made["delivered_s"]] * 2)
        error = f"{made['error_us']:+d} µs" if made["error_us"] is not None else WORDS.get(made["why"], made["why"])
        lines.append(f"  {row.label:24} asked {row.asked_s:8.3f} s  given {range_text(low, high, 3):>8} s  {error}")
    return lines
