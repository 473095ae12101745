"""What a keeper says, as whoever runs nothing takes it."""

import pytest

from timer.app.between import Between, FocusLightLeft, FocusLightOver, FootHeld, FootPressed, KeeperLost, between
from timer.keeper.host.client import Heard, Lost, Missed
from timer.keeper.wire import messages


@pytest.mark.parametrize(
    ("heard", "said"),
    [
        (messages.Pedal(messages.Press.DOWN, 5), FootPressed()),
        (messages.Pedal(messages.Press.HOLD, 5), FootHeld()),
        (messages.FocusLightChanged(300_000_000, 0), FocusLightLeft(300)),
        (messages.FocusLightChanged(1, 0), FocusLightLeft(1e-6)),
        (messages.FocusLightChanged(0, 1), FocusLightOver()),
        (Lost("it is gone", 7, True, 9), KeeperLost("it is gone")),
        (messages.Fault("a line that does not follow"), KeeperLost("a line that does not follow")),
    ],
)
def test_what_is_heard_between_runs(heard: Heard, said: Between) -> None:
    assert between(heard) == said


@pytest.mark.parametrize(
    "heard",
    [
        messages.Lit(1, 2, 3, False),
        messages.Dark(1, 2, 3, 4, 0, 0),
        messages.CueEvent(1, 2, 1),
        messages.Disarmed(1, 1),
        Missed(),
        messages.Pedal(99, 5),  # a word that no keeper of this age knows
    ],
)
def test_what_concerns_a_run_alone_is_nothing(heard: Heard) -> None:
    assert between(heard) is None
