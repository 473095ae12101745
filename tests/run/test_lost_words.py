"""Whole runs on the simulated lamp, on a link that loses what hurts most."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest

from tests.run.test_session import PLAN, Stage, as_booked, in_full
from tests.run.test_session import stage as stage  # the fixture
from tests.tools.lossy_frames import faulty
from tests.tools.witness import Witness
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Frame
from timer.run import states

ASKED_AGAIN = 4
"""So often the client sends a command before it says that the keeper does not answer."""
ASKED = [step.seconds for step in PLAN.steps if step.do == "expose"]
Losing = Callable[[dict[type, int]], None]


@pytest.fixture
def losing() -> Iterator[Losing]:
    """From now on the first so many frames of each kind are lost."""
    with ExitStack() as held:

        def begin(first: dict[type, int]) -> None:
            left = {kind.TYPE_ID: count for kind, count in first.items()}  # type: ignore[attr-defined]

            def copies(frame: Frame) -> int:
                left[frame.kind] = left.get(frame.kind, 0) - 1
                return 0 if left[frame.kind] >= 0 else 1

            held.enter_context(faulty(copies))

        yield begin


def test_every_word_of_a_light_is_lost_and_so_is_what_is_asked_for_it(
    losing: Losing, stage: type[Stage], witness: Witness
) -> None:
    """It was lit and is dark again, nobody has heard of it, and the record does not come either: the run goes on all the same."""
    losing({messages.Lit: 1, messages.Dark: 1, messages.AskRecord: 2 * ASKED_AGAIN})
    result = stage(auto=0.01).end()  # type: ignore[call-arg]
    assert result.state is states.State.FINISHED
    assert as_booked(result, witness)
    assert all(in_full(ns / 1e9, asked) for ns, asked in zip(witness.exposures_ns(), ASKED, strict=True))
    assert [row.why for row in result.exposures] == ["complete"] * 3


def test_a_halt_that_is_not_answered_is_said_again(losing: Losing, stage: type[Stage], witness: Witness) -> None:
    """Dark now with an exposure armed: until it is certain that the pedal has not fired there is no pause, and no end of asking."""
    losing({messages.Halt: 1 + ASKED_AGAIN})  # the one that waits for no answer, and those that do
    at = stage()  # type: ignore[call-arg]
    at.until(states.State.ARMED)
    at.session.dark_now()
    place = at.until(states.State.PAUSED)
    at.session.press()
    at.until(states.State.ARMED, place)
    assert witness.edges == []


def test_a_press_on_what_was_lit_already_asks_what_became_of_it(
    losing: Losing, stage: type[Stage], witness: Witness
) -> None:
    """Before the first word of the keeper nobody knows how many there were: what is refused as given is asked for."""
    losing({messages.Lit: 1, messages.Dark: 1, messages.HeartbeatReply: 6})
    result = stage(auto=0.01).end()  # type: ignore[call-arg]
    assert result.state is states.State.FINISHED
    assert as_booked(result, witness)
    assert all(in_full(ns / 1e9, asked) for ns, asked in zip(witness.exposures_ns(), ASKED, strict=True))
