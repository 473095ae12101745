"""The run's state machine: one enum, one table, a pure reducer: (run, event) -> (run, effects).

What the table does not list changes nothing. No event starts more light than the plan has, and no single press
ends one exposure and starts the next: light starts only from ARMED, and ARMED is reached only from the notebook's
word that the intent is stored.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum

from timer.plans.model import Plan, Step
from timer.plans.remainder import worth_giving


class State(Enum):
    """Where a run is. The last three are its ends."""

    READY = "ready"
    NOTING = "noting"  # the intent is on its way to the notebook
    ARMED = "armed"  # dark, the next press gives light
    LIT = "lit"
    DARKENING = "darkening"  # told to go dark, the keeper's word is awaited
    PAUSED = "paused"  # dark in the middle of an exposure, nothing armed
    BOXED = "boxed"  # the sheet goes into its box, to look at something by light; nothing armed
    FINISHED = "finished"
    STOPPED = "stopped"  # by the printer; what is missing can be given later
    FAILED = "failed"


OVER = frozenset({State.FINISHED, State.STOPPED, State.FAILED})


# ── events ───────────────────────────────────────────────────────────────────


@dataclass(frozen=True)
class Begin:
    """The run is in the notebook."""


@dataclass(frozen=True)
class Noted:
    """The intent of exposure ``number`` is in the notebook."""

    number: int


@dataclass(frozen=True)
class Press:
    """The host's press (Enter, or auto). The keeper's own footswitch shows as Lit.

    ``number``: the exposure that was ready when it was pressed; None is for whichever is. A press that has been
    overtaken gives no light.
    """

    number: int | None = None


@dataclass(frozen=True)
class Lit:
    """The lamp is on, started by the footswitch or by a key."""

    by_pedal: bool = False


@dataclass(frozen=True)
class Dark:
    """The lamp is off. ``given`` full-light seconds came through; ``complete`` if it ran to its end.

    ``late``: it ran past its end, so the paper had more than it should; that is never called finished.
    """

    given: float
    complete: bool
    why: str = ""
    late: bool = False


@dataclass(frozen=True)
class Disarmed:
    """The keeper dropped the armed exposure by itself: nothing is ready any more, and no press gives light."""

    why: str = ""


@dataclass(frozen=True)
class DarkNow:
    """The printer wants it dark: in the middle of light this is a pause. ``by_pedal``: by the footswitch, held."""

    by_pedal: bool = False


@dataclass(frozen=True)
class ToBox:
    """The sheet is to go into its box: dark, and no press is ready for light any more."""


@dataclass(frozen=True)
class InEasel:
    """The printer's word that the sheet lies in the easel again, just as it lay."""


@dataclass(frozen=True)
class Settled:
    """Halt ``number`` was answered: all that the keeper had to say of light before it has been said."""

    number: int


@dataclass(frozen=True)
class Leave:
    """Dark, and end the run here."""

    why: str = "stopped by you"


@dataclass(frozen=True)
class Failed:
    """The notebook, the keeper or the link failed; ``given`` full-light seconds of a cut exposure, if it is known."""

    text: str
    given: float | None = None


Event = Begin | Noted | Press | Lit | Dark | Disarmed | DarkNow | ToBox | InEasel | Settled | Leave | Failed


# ── effects ──────────────────────────────────────────────────────────────────


@dataclass(frozen=True)
class NoteIntent:
    """Store that exposure ``number`` of the run will give ``seconds`` of full light; then Noted."""

    number: int
    step: int
    seconds: float


@dataclass(frozen=True)
class Arm:
    """Be ready to give exposure ``number`` its ``seconds`` of full light at the next press."""

    number: int
    seconds: float
    skip: float  # full-light seconds of the step already given: its cues are that much nearer


@dataclass(frozen=True)
class Fire:
    """Give exposure ``number`` its ``seconds`` of full light now."""

    number: int
    seconds: float
    skip: float


@dataclass(frozen=True)
class Halt:
    """Dark and disarmed; then Settled with its ``number``, unless the run is over (0)."""

    number: int = 0


@dataclass(frozen=True)
class Close:
    """The run is over: store its state and what to say of it."""

    state: State
    says: str


Effect = NoteIntent | Arm | Fire | Halt | Close


# ── the run ──────────────────────────────────────────────────────────────────


@dataclass(frozen=True)
class Run:
    """Where a run stands: ``step`` indexes plan.steps, ``given`` is what it has had, ``number`` counts exposures.

    ``looks``: whoever shows it can light up, so that before a step that needs light to see by the sheet goes into its box.
    """

    plan: Plan
    looks: bool = False
    state: State = State.READY
    step: int = -1
    given: float = 0.0
    number: int = -1
    leaving: str = ""
    failure: str = ""
    halts: int = 0  # told to go dark so often; only the answer to the last one settles it
    boxing: bool = False  # to BOXED as soon as it is certainly dark

    @property
    def at(self) -> Step | None:
        """The exposure at hand or next."""
        return self.plan.steps[self.step] if 0 <= self.step < len(self.plan.steps) else None

    @property
    def missing(self) -> float:
        """Full-light seconds that the exposure at hand still lacks, as far as they can be given."""
        return worth_giving(self.at.seconds - self.given) if self.at else 0.0

    @property
    def hands(self) -> str:
        """What the hands are to do before the exposure at hand: the waits that lead to it."""
        says: list[str] = []
        for step in reversed(self.plan.steps[: max(self.step, 0)]):
            if step.do == "expose":
                break
            if step.do == "wait":
                says.insert(0, step.say)
        return "; then ".join(says) or (self.at.say if self.at else "")


Result = tuple[Run, tuple[Effect, ...]]


def reduce(run: Run, event: Event) -> Result:
    """The run after ``event``, and what must be done about it."""
    rule = TABLE.get((run.state, type(event)))
    return rule(run, event) if rule else (run, ())


def _begin(run: Run, _: Event) -> Result:
    return _next_exposure(run)


def _next_exposure(run: Run) -> Result:
    for n in range(run.step + 1, len(run.plan.steps)):
        if run.plan.steps[n].do == "expose":
            between = run.plan.steps[max(run.step, 0) : n]
            look = run.looks and run.step >= 0 and any(step.do == "look" for step in between)
            return _note(replace(run, step=n, given=0.0, boxing=run.boxing or look))
    return _close(run, State.FINISHED, "finished")


def _note(run: Run) -> Result:
    if run.boxing:
        return _boxed(run)
    run = replace(run, state=State.NOTING, number=run.number + 1)
    return run, (NoteIntent(run.number, run.step, run.missing),)


def _noted(run: Run, event: Event) -> Result:
    assert isinstance(event, Noted)
    if event.number != run.number:
        return run, ()
    return replace(run, state=State.ARMED), (Arm(run.number, run.missing, run.given),)


def _fire(run: Run, event: Event) -> Result:
    assert isinstance(event, Press)
    if event.number not in (None, run.number):
        return run, ()
    return run, (Fire(run.number, run.missing, run.given),)


def _lit(run: Run, _: Event) -> Result:
    return replace(run, state=State.LIT), ()


def _dark(run: Run, event: Event) -> Result:
    assert isinstance(event, Dark)
    if event.late and run.at:
        given = run.given + event.given
        says = f"{run.at.area} had {given:.2f} s of {run.at.seconds:.2f} s: too much light, the lamp went off late"
        return _close(replace(run, given=given), State.FAILED, says)
    run = replace(run, given=run.at.seconds if event.complete and run.at else run.given + event.given)
    done = not run.missing
    if run.failure:
        return _close(run, State.FAILED, run.failure)
    if run.leaving and not (done and _is_last(run)):
        return _close(run, State.STOPPED, run.leaving)
    if done:
        return _next_exposure(run)
    return _boxed(run) if run.boxing else (replace(run, state=State.PAUSED), ())


def _is_last(run: Run) -> bool:
    return all(step.do != "expose" for step in run.plan.steps[run.step + 1 :])


def _darken(run: Run, _: Event) -> Result:
    """Lit, or armed so that the pedal may fire any moment: paused only when the keeper has settled which."""
    return _halted(run)


def _halted(run: Run) -> Result:
    run = replace(run, state=State.DARKENING, halts=run.halts + 1)
    return run, (Halt(run.halts),)


def _settled(run: Run, event: Event) -> Result:
    """The answer to an earlier Halt says nothing of what was armed after it."""
    assert isinstance(event, Settled)
    return _paused(run, event) if event.number == run.halts else (run, ())


def _paused(run: Run, _: Event) -> Result:
    if run.failure:
        return _close(run, State.FAILED, run.failure)
    if run.leaving:
        return _close(run, State.STOPPED, run.leaving)
    return _boxed(run) if run.boxing else (replace(run, state=State.PAUSED), ())


def _to_box(run: Run, _: Event) -> Result:
    """Armed, so that the pedal may fire any moment: boxed only when the keeper has settled that it did not."""
    return _halted(replace(run, boxing=True))


def _box_when_dark(run: Run, _: Event) -> Result:
    return replace(run, boxing=True), ()


def _box(run: Run, _: Event) -> Result:
    return _boxed(run)


def _boxed(run: Run) -> Result:
    return replace(run, state=State.BOXED, boxing=False), ()


def _again(run: Run, _: Event) -> Result:
    return _note(run)


def _leave_lit(run: Run, event: Event) -> Result:
    assert isinstance(event, Leave)
    return _halted(replace(run, leaving=event.why))


def _leave(run: Run, event: Event) -> Result:
    assert isinstance(event, Leave)
    run, effects = _close(run, State.STOPPED, event.why)
    return run, (Halt(), *effects)


def _fail(run: Run, event: Event) -> Result:
    assert isinstance(event, Failed)
    run, effects = _close(replace(run, given=run.given + (event.given or 0.0)), State.FAILED, event.text)
    return run, (Halt(), *effects)


def _fail_lit(run: Run, event: Event) -> Result:
    """With light on the paper: a lost keeper is the end; a failed notebook lets this exposure run out, then ends."""
    assert isinstance(event, Failed)
    if event.given is not None:
        return _fail(run, event)
    return replace(run, failure=event.text), ()


def _close(run: Run, state: State, says: str) -> Result:
    return replace(run, state=state), (Close(state, says),)


Rule = Callable[[Run, Event], Result]
TABLE: dict[tuple[State, type[Event]], Rule] = {
    (State.READY, Begin): _begin,
    (State.READY, Leave): _leave,
    (State.READY, Failed): _fail,
    (State.NOTING, Noted): _noted,
    (State.NOTING, DarkNow): _paused,
    (State.NOTING, ToBox): _box,
    (State.NOTING, Leave): _leave,
    (State.NOTING, Failed): _fail,
    (State.ARMED, Press): _fire,
    (State.ARMED, Lit): _lit,
    (State.ARMED, Dark): _dark,  # the word "lit" was lost on the link
    (State.ARMED, Disarmed): _darken,  # to make it certain: a command that was sent again may have armed it anew
    (State.ARMED, DarkNow): _darken,
    (State.ARMED, ToBox): _to_box,
    (State.ARMED, Leave): _leave,
    (State.ARMED, Failed): _fail,
    (State.LIT, Dark): _dark,
    (State.LIT, DarkNow): _darken,
    (State.LIT, Leave): _leave_lit,
    (State.LIT, Failed): _fail_lit,
    (State.DARKENING, Dark): _dark,
    (State.DARKENING, Settled): _settled,
    (State.DARKENING, ToBox): _box_when_dark,
    (State.DARKENING, Leave): _leave_lit,
    (State.DARKENING, Failed): _fail_lit,
    (State.PAUSED, Press): _again,
    (State.PAUSED, ToBox): _box,
    (State.PAUSED, Leave): _leave,
    (State.PAUSED, Failed): _fail,
    (State.BOXED, InEasel): _again,
    (State.BOXED, Leave): _leave,
    (State.BOXED, Failed): _fail,
}
