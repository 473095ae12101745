"""The run's machine: a Hypothesis machine plays printer, keeper and notebook in any order."""

from fractions import Fraction

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from timer.plan import SMALLEST_S, strip_plan
from timer.run import states as s

PLAN = strip_plan(4.0, Fraction(1, 2), 4, "cover")
EXPOSURES = [n for n, step in enumerate(PLAN.steps) if step.do == "expose"]


def play(*events: s.Event) -> tuple[s.Run, list[s.Effect]]:
    run, effects = s.Run(PLAN), []
    for event in events:
        run, more = s.reduce(run, event)
        effects += more
    return run, effects


def test_the_plain_way_through() -> None:
    run, effects = play(s.Begin(), *(e for n in range(4) for e in (s.Noted(n), s.Press(), s.Lit(), s.Dark(1.0, True))))
    assert run.state is s.State.FINISHED
    assert [type(e).__name__ for e in effects] == ["NoteIntent", "Arm", "Fire"] * 4 + ["Close"]
    asked = [e.seconds for e in effects if isinstance(e, s.Arm)]
    assert asked == [PLAN.steps[n].seconds for n in EXPOSURES]


def test_a_pause_is_followed_by_exactly_the_rest() -> None:
    run, effects = play(
        s.Begin(),
        s.Noted(0),
        s.Press(),
        s.Lit(),
        s.DarkNow(),
        s.Dark(1.5, False),
        s.Settled(),
        s.Press(),
        s.Noted(1),
    )
    assert run.state is s.State.ARMED
    assert [e for e in effects if isinstance(e, s.Arm)][-1] == s.Arm(1, 2.5, 1.5)


def test_one_press_does_not_end_and_start() -> None:
    run, effects = play(s.Begin(), s.Noted(0), s.Press(), s.Lit(), s.Press(), s.Press(), s.Dark(4.0, True), s.Noted(1))
    assert run.state is s.State.ARMED
    assert sum(isinstance(e, s.Fire) for e in effects) == 1


def test_leaving_in_the_light_waits_for_the_keepers_word() -> None:
    run, effects = play(s.Begin(), s.Noted(0), s.Lit(), s.Leave("left"))
    assert run.state is s.State.DARKENING
    assert s.Halt() in effects
    run, effects = play(s.Begin(), s.Noted(0), s.Lit(), s.Leave("left"), s.Dark(2.0, False))
    assert (run.state, run.given) == (s.State.STOPPED, 2.0)
    assert effects[-1] == s.Close(s.State.STOPPED, "left")


def test_a_failed_notebook_lets_the_light_run_out_then_ends() -> None:
    run, effects = play(s.Begin(), s.Noted(0), s.Lit(), s.Failed("disk full"))
    assert run.state is s.State.LIT
    run, effects = play(s.Begin(), s.Noted(0), s.Lit(), s.Failed("disk full"), s.Dark(4.0, True))
    assert effects[-1] == s.Close(s.State.FAILED, "disk full")
    assert not any(isinstance(e, s.NoteIntent) and e.number for e in effects)


def test_a_lost_keeper_ends_it_at_once_with_the_light_that_was() -> None:
    run, _ = play(s.Begin(), s.Noted(0), s.Lit(), s.Failed("gone", given=1.25))
    assert (run.state, run.given) == (s.State.FAILED, 1.25)


def test_over_is_over() -> None:
    for over in s.OVER:
        for state, event in s.TABLE:
            assert state is not over, (state, event)


@pytest.mark.parametrize("state", [state for state in s.State if state not in s.OVER])
def test_dark_now_and_leave_are_heard_wherever_there_may_be_light(state: s.State) -> None:
    assert (state, s.Leave) in s.TABLE
    assert (state, s.Failed) in s.TABLE
    if state in (s.State.NOTING, s.State.ARMED, s.State.LIT):
        assert (state, s.DarkNow) in s.TABLE


@settings(max_examples=200, stateful_step_count=60, deadline=None)
class AnyOrder(RuleBasedStateMachine):
    """Light on the paper never passes the plan's, and a finished run gave all of it."""

    @initialize()
    def begin(self) -> None:
        self.run_now = s.Run(PLAN)
        self.light = dict.fromkeys(EXPOSURES, 0.0)
        self.armed: s.Arm | None = None
        self.burning: float | None = None
        self.intents: list[int] = []
        self.waiting: list[int] = []
        self.owed: list[s.Event] = []
        self.feed(s.Begin())

    def feed(self, event: s.Event) -> None:
        self.run_now, effects = s.reduce(self.run_now, event)
        for effect in effects:
            match effect:
                case s.NoteIntent(number, _, seconds):
                    assert number not in self.intents
                    assert seconds >= SMALLEST_S
                    self.intents.append(number)
                    self.waiting.append(number)
                case s.Arm():
                    assert effect.number in self.intents
                    assert self.burning is None
                    self.armed = effect
                case s.Fire():
                    if self.armed:
                        self.lamp_on()
                case s.Halt():
                    self.armed = None
                    if self.burning is not None:
                        self.lamp_off(self.burning / 2)
                    self.owed.append(s.Settled())

    def lamp_on(self) -> None:
        assert self.armed
        self.burning, self.armed = self.armed.seconds, None
        self.owed.append(s.Lit())

    def lamp_off(self, given: float) -> None:
        assert self.burning is not None
        complete = given == self.burning
        self.burning = None
        self.owed.append(s.Dark(given, complete))
        self.light[self.run_now.step] += given

    @precondition(lambda self: bool(getattr(self, "waiting", None)))
    @rule()
    def noted(self) -> None:
        self.feed(s.Noted(self.waiting.pop(0)))

    @precondition(lambda self: getattr(self, "armed", None) is not None)
    @rule()
    def pedal(self) -> None:
        self.lamp_on()

    @precondition(lambda self: bool(getattr(self, "owed", None)))
    @rule()
    def keeper_speaks(self) -> None:
        self.feed(self.owed.pop(0))

    @precondition(lambda self: getattr(self, "burning", None) is not None)
    @rule(share=st.sampled_from([0.25, 1.0, 1.0, 1.0]))
    def time_or_foot_ends_it(self, share: float) -> None:
        assert self.burning is not None
        self.lamp_off(self.burning * share)

    @rule(event=st.sampled_from([s.Press(), s.DarkNow(), s.Leave(), s.Failed("disk")]), often=st.integers(0, 5))
    def printer(self, event: s.Event, often: int) -> None:
        if isinstance(event, s.Press) or often == 0:
            self.feed(event)

    @invariant()
    def never_more_than_the_plan(self) -> None:
        for n, light in getattr(self, "light", {}).items():
            assert light <= PLAN.steps[n].seconds + 1e-9

    @invariant()
    def finished_means_all_of_it(self) -> None:
        if getattr(self, "run_now", None) and self.run_now.state is s.State.FINISHED:
            for n, light in self.light.items():
                assert light >= PLAN.steps[n].seconds - SMALLEST_S


TestAnyOrder = AnyOrder.TestCase
