"""Whole runs on the simulated lamp, watched from the other end of its wire."""

import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.tools.witness import Witness
from timer.app.lamp import keeper_config
from timer.craft.lamp_response import INSTANT, LampResponse, full_light
from timer.documents.recipe_file import parse_recipe
from timer.documents.settings import Settings
from timer.keeper.host.darken import make_dark
from timer.notebook.store import Notebook
from timer.plans.model import Plan
from timer.plans.print import print_plan
from timer.plans.strip import strip_plan
from timer.run import states
from timer.run.cues import Cued
from timer.run.session import Result, Session

PLAN = strip_plan(0.4, Fraction(1, 2), 3, "cover")
LATE_S = 0.02
"""A keeper without real-time priority is so late at most on a busy machine; what is later is no complete light (protocol.md)."""


class Stage:
    """A session on a thread, with its notebook, and everything it showed."""

    def __init__(
        self,
        home: Path,
        plan: Plan,
        *,
        auto: float | None = None,
        response: LampResponse = INSTANT,
        speed: float = 1,
    ) -> None:
        self.notebook = Notebook(home / "notebook.db")
        self.shown: list[states.Event | Cued] = []
        self.states: list[states.State] = []
        config = keeper_config(Settings(), speed=speed)
        self.session = Session(plan, self.notebook, config, response, self.show, auto=auto)
        self.result: Result | None = None
        self.thread = threading.Thread(target=self.go)
        self.thread.start()

    def go(self) -> None:
        self.result = self.session.go()

    def show(self, run: states.Run, what: states.Event | Cued) -> None:
        self.shown.append(what)
        self.states.append(run.state)

    def until(self, state: states.State, after: int = 0, seconds: float = 10) -> int:
        """Wait until ``state`` is shown, at or after place ``after``; the place behind it."""
        end = time.monotonic() + seconds
        while state not in self.states[after:]:
            assert time.monotonic() < end, f"never {state}: {self.states}"
            time.sleep(0.002)
        return self.states.index(state, after) + 1

    def end(self) -> Result:
        self.thread.join(20)
        assert self.result
        return self.result


def in_full(seen_s: float, asked_s: float) -> bool:
    """Whether a light that was seen is one that was asked for: to a millisecond, or as late as a busy machine makes it."""
    return -0.001 <= seen_s - asked_s <= LATE_S


def as_booked(result: Result, witness: Witness) -> bool:
    """Whether what is booked of each light is what was seen of it, however late that was."""
    seen = [ns / 1e6 for ns in witness.exposures_ns()]
    return seen == pytest.approx([(row.low_us or 0) / 1e3 for row in result.exposures if row.lit], abs=1)


Staged = Callable[..., Stage]  # of a plan (or PLAN), and how it is run


@pytest.fixture
def stage(home: Path, witness: Witness) -> Iterator[Staged]:
    made: list[Stage] = []

    def begin(plan: Plan = PLAN, **options: Any) -> Stage:
        made.append(Stage(home, plan, **options))
        return made[-1]

    yield begin
    for each in made:
        each.session.leave()
        each.thread.join(20)
        each.notebook.close()


def test_auto_gives_the_plan_and_notes_it(stage: Staged, witness: Witness) -> None:
    at = stage(auto=0.01)
    result = at.end()
    asked = [step.seconds for step in PLAN.steps if step.do == "expose"]
    assert result.state is states.State.FINISHED
    assert as_booked(result, witness)
    assert all(in_full(ns / 1e9, s) for ns, s in zip(witness.exposures_ns(), asked, strict=True))
    assert [e.why for e in at.notebook.exposures(result.run)] == ["complete"] * 3
    assert at.notebook.run(result.run).state == "finished"


def test_the_pedal_alone_makes_a_strip(stage: Staged, witness: Witness) -> None:
    at = stage()
    place = 0
    for _ in range(3):
        place = at.until(states.State.ARMED, place)
        time.sleep(0.4)  # two presses nearer than that are one foot, dancing
        witness.tell("P1")
        place = at.until(states.State.LIT, place)
        witness.tell("P0")
    assert at.end().state is states.State.FINISHED
    assert all(event.by_pedal for event in at.shown if isinstance(event, states.Lit))


def test_dark_now_then_exactly_the_rest(stage: Staged, witness: Witness) -> None:
    plan = strip_plan(0.8, Fraction(1), 2, "window")
    at = stage(plan)
    at.until(states.State.ARMED)
    at.session.press()
    witness.wait(True)
    time.sleep(0.2)
    at.session.dark_now()
    witness.wait(False, 0.5)
    place = at.until(states.State.PAUSED)
    at.session.press()
    place = at.until(states.State.ARMED, place)
    assert not witness.lit
    at.session.press()
    place = at.until(states.State.ARMED, at.until(states.State.LIT, place))
    first, second = witness.exposures_ns()
    assert in_full((first + second) / 1e9, 0.8)
    at.session.leave()
    result = at.end()
    assert result.state is states.State.STOPPED
    assert as_booked(result, witness)


def test_cues_of_a_run_through_base(stage: Staged) -> None:
    recipe = 'recipe = 1\ntitle = "t"\nbase_s = 20\n[paper]\nkind = "bw"\n[[dodge]]\narea = "gate"\nstops = "1/2"\n'
    at = stage(print_plan(parse_recipe(recipe)), auto=0.0, speed=20)
    at.end()
    cues = [(c.cue, round(c.at, 2), c.say) for c in at.shown if isinstance(c, Cued) and c.cue != "tick"]
    assert cues == [("warn", 3.86, "all clear"), ("change", 5.86, "all clear"), ("warn", 18.0, "off")]
    assert sum(isinstance(c, Cued) and c.cue == "tick" for c in at.shown) >= 15


def test_a_calibrated_lamp_stays_on_longer(stage: Staged, witness: Witness) -> None:
    lamp = LampResponse(0.06, 0.1)
    result = stage(PLAN, auto=0.0, response=lamp).end()
    for row, ns in zip(result.exposures, witness.exposures_ns(), strict=True):
        assert in_full(full_light(ns / 1e9, lamp), row.asked_s)
        assert ns / 1e9 > row.asked_s + 0.05


def test_lamp_off_from_elsewhere_ends_the_run_with_its_light_known(stage: Staged, witness: Witness, home: Path) -> None:
    at = stage(strip_plan(9, Fraction(1), 2, "cover"))
    at.until(states.State.ARMED)
    at.session.press()
    witness.wait(True)
    assert make_dark(keeper_config(Settings())).ended
    witness.wait(False, 1)
    result = at.end()
    assert result.state is states.State.FAILED
    (ns,) = witness.exposures_ns()
    assert result.exposures[0].low_us == pytest.approx(ns / 1000, abs=1000)


def test_a_notebook_that_fails_in_the_light_ends_the_run_after_it(stage: Staged, witness: Witness) -> None:
    at = stage(strip_plan(0.5, Fraction(1), 3, "cover"), auto=0.0)
    witness.wait(True)
    at.notebook._db.execute("PRAGMA query_only = ON")
    result = at.end()
    assert result.state is states.State.FAILED
    assert "no more light is given" in result.says
    assert len(witness.exposures_ns()) == 1
    assert as_booked(result, witness)
    assert in_full(witness.exposures_ns()[0] / 1e9, 0.5)


def test_a_bulb_of_the_bench_says_what_light_the_paper_had(home: Path, witness: Witness) -> None:
    lamp = LampResponse(0.0612, 0.0932)
    config = replace(keeper_config(Settings(simulated_bulb="halogen-12v-100w")))
    notebook = Notebook(home / "notebook.db")
    plan = strip_plan(0.8, Fraction(1), 2, "window")
    Session(plan, notebook, config, lamp, lambda run, what: None, auto=1.0).go()
    notebook.close()
    told = [dict(part.split("=") for part in line.split()[1:]) for line in witness.other if line.startswith("B")]
    assert set(told[0]) == {"graded", "soft", "hard", "blue", "green", "red"}
    assert float(told[0]["graded"]) == pytest.approx(0.8, abs=0.02)
    assert float(told[0]["red"]) > float(told[0]["graded"]) > float(told[0]["hard"])
