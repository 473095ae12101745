"""The GPIO board on gpiozero's mock pins, in this process: what each device is and does."""

from collections.abc import Iterator

import pytest
from gpiozero import Device
from gpiozero.pins.mock import MockFactory, MockPWMPin

from timer.keeper.boards.gpio import GpioBoard
from timer.keeper.wire import messages


@pytest.fixture
def factory() -> Iterator[MockFactory]:
    before = Device.pin_factory
    Device.pin_factory = MockFactory(pin_class=MockPWMPin)
    yield Device.pin_factory
    Device.pin_factory.reset()
    Device.pin_factory = before


def test_lamp_and_safelight_are_active_high_and_off_at_the_start(factory: MockFactory) -> None:
    board = GpioBoard(17, 22, 0, 0)
    lamp, safe = factory.pin(17), factory.pin(22)
    assert [s.state for s in lamp.states] == [False]
    board.lamp(True)
    board.safelight(True)
    assert lamp.state
    assert safe.state
    board.lamp(False)
    assert [s.state for s in lamp.states] == [False, True, False]
    board.lamp(True)
    board.close()
    assert not lamp.state


@pytest.mark.parametrize("tonal", [False, True])
def test_every_cue_sounds(factory: MockFactory, tonal: bool) -> None:
    import time

    board = GpioBoard(17, 0, 0, 18, tonal=tonal)
    pin = factory.pin(18)
    for cue in messages.Cue:
        before = len(pin.states)
        board.sound(cue)
        time.sleep(1.0 if cue is messages.Cue.END else 0.5)
        assert len(pin.states) > before, cue
        assert not pin.state, cue
    board.close()


def test_without_the_parts_nothing_happens(factory: MockFactory) -> None:
    board = GpioBoard(17, 0, 0, 0)
    board.safelight(True)
    board.sound(messages.Cue.END)
    assert board.pedal_edges() == []
    board.close()
