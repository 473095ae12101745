"""The log of a run's changes: every one there, in order, rotated, and never in the way."""

import json
from pathlib import Path

from timer.plans.model import Plan, Step
from timer.run import states
from timer.run.transition_log import FILE, KEPT, MAX_BYTES, TransitionLog

PLAN = Plan("strip", "two", (Step("expose", "", "a", 1.0), Step("expose", "", "b", 2.0)))


def test_every_change_in_order(tmp_path: Path) -> None:
    log = TransitionLog(tmp_path)
    run = states.Run(PLAN)
    for event in (states.Begin(), states.Noted(0), states.Press(), states.Lit(True), states.Dark(1.0, True, "complete")):
        before = run
        run, effects = states.reduce(run, event)
        log.note(7, before, event, run, effects)
    log.close()
    lines = [json.loads(line) for line in (tmp_path / FILE).read_text().splitlines()]
    assert [(line["from"], line["to"]) for line in lines] == [
        ("ready", "noting"), ("noting", "armed"), ("armed", "armed"), ("armed", "lit"), ("lit", "noting"),
    ]  # fmt: skip
    assert [line["effects"] for line in lines] == [["NoteIntent"], ["Arm"], ["Fire"], [], ["NoteIntent"]]
    assert lines[3]["event"] == "Lit(by_pedal=True)"
    assert {line["run"] for line in lines} == {7}


def test_it_does_not_grow_without_end(tmp_path: Path) -> None:
    log = TransitionLog(tmp_path)
    run = states.Run(PLAN)
    failed = states.Failed("x" * 10_000)
    for _ in range(200):
        log.note(1, run, failed, run, ())
    log.close()
    sizes = [path.stat().st_size for path in tmp_path.iterdir()]
    assert len(sizes) == KEPT + 1
    assert max(sizes) <= MAX_BYTES


def test_a_folder_that_is_gone_loses_lines_and_nothing_else(tmp_path: Path) -> None:
    log = TransitionLog(tmp_path / "gone")
    run = states.Run(PLAN)
    log.note(1, run, states.Begin(), run, ())
    log.close()
