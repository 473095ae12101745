"""docs/states.md, made from the reducer itself: python -m tests.tools.states_page > docs/states.md

Every state that a run of two exposures can come to, with a look between them or without, is tried with every event there is, as often as something new comes of it.
"""

from dataclasses import fields
from typing import get_args

from timer.plans.model import Plan, Step
from timer.run import states

A, B, LOOK = Step("expose", "", "a", 2.0), Step("expose", "", "b", 2.0), Step("look", "set 60M")
PLANS = (Plan("strip", "two", (A, B)), Plan("strip", "two, with a look between", (A, LOOK, B)))
WORDS = {
    "Begin": "the run is in the notebook, and the hands are ready",
    "Noted": "the intent of the exposure is in the notebook",
    "Press": "Enter, or the time of `--advance auto`",
    "Lit": "the keeper: the lamp is on (by its own footswitch, or by a press)",
    "Dark": "the keeper: the lamp is off",
    "Disarmed": "the keeper dropped what was armed",
    "DarkNow": "the printer wants it dark",
    "ToBox": "the sheet is to go into its box, so that there can be light to see by",
    "InEasel": "the printer's word that the sheet lies in the easel again",
    "Settled": "the last Halt was answered: no word of light is outstanding",
    "Leave": "the printer ends the run",
    "Failed": "notebook, keeper or link failed",
}


def _samples(run: states.Run) -> list[states.Event]:
    """Every event, in each form that makes a difference."""
    left = run.missing
    return [
        states.Begin(),
        states.Noted(run.number),
        states.Press(),
        states.Lit(),
        states.Dark(left, True),
        states.Dark(left / 2, False),
        states.Dark(left + 1, False, late=True),
        states.Disarmed(),
        states.DarkNow(),
        states.ToBox(),
        states.InEasel(),
        states.Settled(run.halts),
        states.Leave(),
        states.Failed("x"),
        states.Failed("x", 0.5),
    ]


Row = tuple[str, str, str, str]


def rows() -> list[Row]:
    """(state, event, effects, next state) of everything that changes something, in the order of the enum."""
    found: set[Row] = set()
    seen: set[tuple[object, ...]] = set()
    open_runs = [states.Run(plan, looks=True) for plan in PLANS]
    while open_runs:
        run = open_runs.pop()
        key = (run.state, run.step, run.given > 0, bool(run.leaving), bool(run.failure), run.boxing, run.plan.title)
        if key in seen or run.number > 20:
            continue
        seen.add(key)
        for event in _samples(run):
            after, effects = states.reduce(run, event)
            if after != run or effects:
                does = ", ".join(type(effect).__name__ for effect in effects)
                found.add((run.state.name, type(event).__name__, does, after.state.name))
                open_runs.append(after)
    order = [state.name for state in states.State]
    events = [kind.__name__ for kind in get_args(states.Event)]
    return sorted(found, key=lambda row: (order.index(row[0]), events.index(row[1]), order.index(row[3]), row[2]))


def page() -> str:
    made = rows()
    listed = {(state.name, kind.__name__) for state, kind in states.TABLE}
    tried = {(state, event) for state, event, _, _ in made}
    assert listed == tried, f"in the table, and never seen: {listed - tried}"
    assert {kind.__name__ for kind in get_args(states.Event)} == set(WORDS)
    arrows: dict[tuple[str, str], set[str]] = {}
    for state, event, _, after in made:
        arrows.setdefault((state, after), set()).add(event)
    order = [kind.__name__ for kind in get_args(states.Event)]
    lines = [
        "# The states of a run",
        "",
        "Made from `timer/run/states.py` by `python -m tests.tools.states_page > docs/states.md`; a test holds it to that.",
        "What the table does not list changes nothing. Light starts from ARMED alone.",
        "",
        "```mermaid",
        "stateDiagram-v2",
        "    [*] --> READY",
        *(f"    {a} --> {b}: {', '.join(sorted(why, key=order.index))}" for (a, b), why in arrows.items()),
        *(f"    {state.name} --> [*]" for state in states.State if state in states.OVER),
        "```",
        "",
        "| in | on | does | then |",
        "|---|---|---|---|",
        *(f"| {state} | {event} | {does} | {after} |" for state, event, does, after in made),
        "",
        "| event | is | carries |",
        "|---|---|---|",
    ]
    for kind in get_args(states.Event):
        carries = ", ".join(field.name for field in fields(kind))
        lines.append(f"| {kind.__name__} | {WORDS[kind.__name__]} | {carries} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    print(page(), end="")
