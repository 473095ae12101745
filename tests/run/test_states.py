"""The run's machine: a Hypothesis machine plays printer, keeper and notebook in any order."""

from fractions import Fraction

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from timer.craft.filters import Pack
from timer.plans.model import SMALLEST_S
from timer.plans.strip import strip_plan
from timer.plans.test_sheets import ring_plan
from timer.run import states

PLAN = strip_plan(4.0, Fraction(1, 2), 4, "cover")
EXPOSURES = [n for n, step in enumerate(PLAN.steps) if step.do == "expose"]


def play(*events: states.Event) -> tuple[states.Run, list[states.Effect]]:
    run = states.Run(PLAN)
    effects: list[states.Effect] = []
    for event in events:
        run, more = states.reduce(run, event)
        effects += more
    return run, effects


def test_the_plain_way_through() -> None:
    run, effects = play(
        states.Begin(),
        *(e for n in range(4) for e in (states.Noted(n), states.Press(), states.Lit(), states.Dark(1.0, True))),
    )
    assert run.state is states.State.FINISHED
    assert [type(e).__name__ for e in effects] == ["NoteIntent", "Arm", "Fire"] * 4 + ["Close"]
    asked = [e.seconds for e in effects if isinstance(e, states.Arm)]
    assert asked == [PLAN.steps[n].seconds for n in EXPOSURES]


def test_a_pause_is_followed_by_exactly_the_rest() -> None:
    run, effects = play(
        states.Begin(),
        states.Noted(0),
        states.Press(),
        states.Lit(),
        states.DarkNow(),
        states.Dark(1.5, False),
        states.Settled(1),
        states.Press(),
        states.Noted(1),
    )
    assert run.state is states.State.ARMED
    assert [e for e in effects if isinstance(e, states.Arm)][-1] == states.Arm(1, 2.5, 1.5)


def test_one_press_does_not_end_and_start() -> None:
    run, effects = play(
        states.Begin(),
        states.Noted(0),
        states.Press(),
        states.Lit(),
        states.Press(),
        states.Press(),
        states.Dark(4.0, True),
        states.Noted(1),
    )
    assert run.state is states.State.ARMED
    assert sum(isinstance(e, states.Fire) for e in effects) == 1


def test_leaving_in_the_light_waits_for_the_keepers_word() -> None:
    run, effects = play(states.Begin(), states.Noted(0), states.Lit(), states.Leave("left"))
    assert run.state is states.State.DARKENING
    assert states.Halt(1) in effects
    run, effects = play(states.Begin(), states.Noted(0), states.Lit(), states.Leave("left"), states.Dark(2.0, False))
    assert (run.state, run.given) == (states.State.STOPPED, 2.0)
    assert effects[-1] == states.Close(states.State.STOPPED, "left")


def test_a_failed_notebook_lets_the_light_run_out_then_ends() -> None:
    run, effects = play(states.Begin(), states.Noted(0), states.Lit(), states.Failed("disk full"))
    assert run.state is states.State.LIT
    run, effects = play(states.Begin(), states.Noted(0), states.Lit(), states.Failed("disk full"), states.Dark(4.0, True))
    assert effects[-1] == states.Close(states.State.FAILED, "disk full")
    assert not any(isinstance(e, states.NoteIntent) and e.number for e in effects)


def test_a_lost_keeper_ends_it_at_once_with_the_light_that_was() -> None:
    run, _ = play(states.Begin(), states.Noted(0), states.Lit(), states.Failed("gone", given=1.25))
    assert (run.state, run.given) == (states.State.FAILED, 1.25)


def test_light_that_ended_late_is_never_finished() -> None:
    late = states.Dark(5.3, False, "late", late=True)
    run, effects = play(states.Begin(), states.Noted(0), states.Lit(), late)
    assert (run.state, run.given) == (states.State.FAILED, 5.3)
    assert isinstance(effects[-1], states.Close)
    assert "5.30 s of 4.00 s" in effects[-1].says


def test_what_the_keeper_disarms_is_dark_and_wants_a_press_to_be_ready_again() -> None:
    dropped = (states.Begin(), states.Noted(0), states.Disarmed("host_silent"))
    run, effects = play(*dropped)
    assert run.state is states.State.DARKENING  # a word sent twice may have armed it anew: it is told to be dark
    assert effects[-1] == states.Halt(1)
    run, effects = play(*dropped, states.Settled(1))
    assert run.state is states.State.PAUSED
    run, effects = play(*dropped, states.Settled(1), states.Press(), states.Noted(1))
    assert run.state is states.State.ARMED
    assert [e for e in effects if isinstance(e, states.Arm)][-1] == states.Arm(1, 4.0, 0.0)


def test_the_answer_to_an_earlier_halt_settles_nothing_that_came_after_it() -> None:
    """Twice dark now, and the foot was faster the second time: what it gave must be counted."""
    again = (states.DarkNow(), states.Dark(2.0, False), states.Press(), states.Noted(1), states.DarkNow())
    run, _ = play(states.Begin(), states.Noted(0), states.Lit(), *again, states.Settled(1))
    assert run.state is states.State.DARKENING
    run, _ = play(
        states.Begin(), states.Noted(0), states.Lit(), *again, states.Settled(1), states.Press(), states.Dark(2.0, True)
    )
    assert (run.state, run.step, run.given) == (states.State.NOTING, 3, 0.0)


def test_to_the_box_disarms_and_only_the_printers_word_makes_ready_again() -> None:
    boxed = (states.Begin(), states.Noted(0), states.ToBox())
    run, effects = play(*boxed)
    assert (run.state, effects[-1]) == (states.State.DARKENING, states.Halt(1))
    run, effects = play(*boxed, states.Settled(1), states.Press(), states.Press(0), states.DarkNow(), states.Noted(0))
    assert run.state is states.State.BOXED
    assert not any(isinstance(effect, states.Fire) for effect in effects)
    run, effects = play(*boxed, states.Settled(1), states.InEasel(), states.Noted(1))
    assert run.state is states.State.ARMED
    assert [e for e in effects if isinstance(e, states.Arm)][-1] == states.Arm(1, 4.0, 0.0)


def test_a_foot_that_was_faster_than_the_box_is_counted() -> None:
    run, _ = play(states.Begin(), states.Noted(0), states.ToBox(), states.Dark(1.5, False), states.Settled(1))
    assert (run.state, run.given, run.missing) == (states.State.BOXED, 1.5, 2.5)
    run, _ = play(states.Begin(), states.Noted(0), states.ToBox(), states.Dark(4.0, True), states.Settled(1))
    assert (run.state, run.step, run.given) == (states.State.BOXED, EXPOSURES[1], 0.0)


def test_a_look_is_a_box_only_where_there_is_light_to_see_by() -> None:
    ring = ring_plan(Pack(0, 60, 45), 10, 8.0, "dichroic")
    lit = [n for n, step in enumerate(ring.steps) if step.do == "expose"]
    for looks, then in ((False, states.State.NOTING), (True, states.State.BOXED)):
        run = states.Run(ring, looks)
        for event in (states.Begin(), states.Noted(0), states.Press(), states.Lit(), states.Dark(8.0, True)):
            run, _ = states.reduce(run, event)
        assert (run.state, run.step) == (then, lit[1])
        assert run.hands.startswith("filters to ")  # what needs the light is said by the one who gives it
    run, effects = states.reduce(run, states.InEasel())
    assert run.state is states.State.NOTING and effects == (states.NoteIntent(1, lit[1], ring.steps[lit[1]].seconds),)


def test_over_is_over() -> None:
    for over in states.OVER:
        for state, event in states.TABLE:
            assert state is not over, (state, event)


@pytest.mark.parametrize("state", [state for state in states.State if state not in states.OVER])
def test_dark_now_and_leave_are_heard_wherever_there_may_be_light(state: states.State) -> None:
    assert (state, states.Leave) in states.TABLE
    assert (state, states.Failed) in states.TABLE
    if state in (states.State.NOTING, states.State.ARMED, states.State.LIT):
        assert (state, states.DarkNow) in states.TABLE


@settings(max_examples=200, stateful_step_count=60, deadline=None)
class AnyOrder(RuleBasedStateMachine):
    """Light on the paper never passes the plan's, and a finished run gave all of it."""

    @initialize()
    def begin(self) -> None:
        self.run_now = states.Run(PLAN)
        self.light = dict.fromkeys(EXPOSURES, 0.0)
        self.armed: states.Arm | None = None
        self.burning: float | None = None
        self.intents: list[int] = []
        self.waiting: list[int] = []
        self.owed: list[states.Event] = []
        self.feed(states.Begin())

    def feed(self, event: states.Event) -> None:
        self.run_now, effects = states.reduce(self.run_now, event)
        for effect in effects:
            match effect:
                case states.NoteIntent(number, _, seconds):
                    assert number not in self.intents
                    assert seconds >= SMALLEST_S
                    self.intents.append(number)
                    self.waiting.append(number)
                case states.Arm():
                    assert effect.number in self.intents
                    assert self.burning is None
                    self.armed = effect
                case states.Fire():
                    if self.armed:
                        self.lamp_on()
                case states.Halt(halt):
                    self.armed = None
                    if self.burning is not None:
                        self.lamp_off(self.burning / 2)
                    self.owed.append(states.Settled(halt))

    def lamp_on(self) -> None:
        assert self.armed
        self.burning, self.armed = self.armed.seconds, None
        self.owed.append(states.Lit())

    def lamp_off(self, given: float) -> None:
        assert self.burning is not None
        complete = given == self.burning
        self.burning = None
        self.owed.append(states.Dark(given, complete))
        self.light[self.run_now.step] += given

    @precondition(lambda self: bool(getattr(self, "waiting", None)))
    @rule()
    def noted(self) -> None:
        self.feed(states.Noted(self.waiting.pop(0)))

    @precondition(lambda self: getattr(self, "armed", None) is not None)
    @rule()
    def pedal(self) -> None:
        self.lamp_on()

    @precondition(lambda self: getattr(self, "armed", None) is not None)
    @rule()
    def host_is_silent(self) -> None:
        self.armed = None
        self.owed.append(states.Disarmed("host_silent"))

    @precondition(lambda self: bool(getattr(self, "owed", None)))
    @rule()
    def keeper_speaks(self) -> None:
        self.feed(self.owed.pop(0))

    @precondition(lambda self: getattr(self, "burning", None) is not None)
    @rule(share=st.sampled_from([0.25, 1.0, 1.0, 1.0]))
    def time_or_foot_ends_it(self, share: float) -> None:
        assert self.burning is not None
        self.lamp_off(self.burning * share)

    @rule(
        event=st.sampled_from(
            [states.Press(), states.DarkNow(), states.ToBox(), states.InEasel(), states.Leave(), states.Failed("disk")]
        ),
        often=st.integers(0, 5),
    )
    def printer(self, event: states.Event, often: int) -> None:
        if isinstance(event, states.Press | states.InEasel) or often == 0:
            self.feed(event)

    @invariant()
    def in_the_box_nothing_is_armed_or_lit(self) -> None:
        if getattr(self, "run_now", None) and self.run_now.state is states.State.BOXED:
            assert self.armed is None
            assert self.burning is None

    @invariant()
    def never_more_than_the_plan(self) -> None:
        for n, light in getattr(self, "light", {}).items():
            assert light <= PLAN.steps[n].seconds + SMALLEST_S / 2 + 1e-9

    @invariant()
    def finished_means_all_of_it(self) -> None:
        if getattr(self, "run_now", None) and self.run_now.state is states.State.FINISHED:
            for n, light in self.light.items():
                assert light >= PLAN.steps[n].seconds - SMALLEST_S / 2


TestAnyOrder = AnyOrder.TestCase
