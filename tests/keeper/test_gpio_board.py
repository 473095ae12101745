"""The GPIO board on gpiozero's mock pins, in this process: what each device is and does."""

import time
from collections.abc import Iterator

import pytest
from gpiozero import Device
from gpiozero.pins.mock import MockFactory, MockPin, MockPWMPin

from timer.errors import KeeperError
from timer.keeper.boards.gpio_factory import FactoryBoard
from timer.keeper.config import Config
from timer.keeper.wire import messages


@pytest.fixture
def factory(monkeypatch: pytest.MonkeyPatch) -> Iterator[MockFactory]:
    monkeypatch.setenv("GPIOZERO_PIN_FACTORY", "mock")
    before = Device.pin_factory
    Device.pin_factory = MockFactory(pin_class=MockPWMPin)
    yield Device.pin_factory
    Device.pin_factory.reset()
    Device.pin_factory = before


def board_on(lamp: int, safelight: int, footswitch: int, buzzer: int, *, tonal: bool = False) -> FactoryBoard:
    return FactoryBoard(
        Config(
            "",
            lamp="gpio",
            buzzer_tonal=tonal,
            lamp_pin=lamp,
            safelight_pin=safelight,
            footswitch_pin=footswitch,
            buzzer_pin=buzzer,
        )
    )


def test_lamp_and_safelight_are_active_high_and_off_at_the_start(factory: MockFactory) -> None:
    board = board_on(17, 22, 0, 0)
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


def _is_over(pin: MockPin, before: int) -> bool:
    """Whether a sound came, after so many states, and ended: silent for longer than it pauses, however slow the machine."""
    end = time.monotonic() + 30
    while time.monotonic() < end:
        count = len(pin.states)
        time.sleep(0.5)
        if before < count == len(pin.states) and not pin.state:
            return True
    return False


@pytest.mark.parametrize("tonal", [False, True])
def test_every_cue_sounds(factory: MockFactory, tonal: bool) -> None:
    board = board_on(17, 0, 0, 18, tonal=tonal)
    pin = factory.pin(18)
    for cue in messages.Cue:
        before = len(pin.states)
        board.sound(cue)
        assert _is_over(pin, before), cue
    board.close()


def test_without_the_parts_nothing_happens(factory: MockFactory) -> None:
    board = board_on(17, 0, 0, 0)
    board.safelight(True)
    board.sound(messages.Cue.END)
    assert board.pedal_edges() == []
    board.close()


@pytest.mark.parametrize("pin", range(1, 9))
def test_a_pin_that_is_pulled_towards_light_is_refused(factory: MockFactory, pin: int) -> None:
    with pytest.raises(KeeperError, match="towards light"):
        board_on(pin, 0, 0, 0)


def test_no_edge_is_lost_while_the_list_is_read(factory: MockFactory) -> None:
    """Edges that come on another thread while they are read: all arrive, once, in their order."""
    import threading

    board = board_on(17, 0, 27, 0)
    told = 20_000

    def tell() -> None:
        for n in range(told):
            board._edge(n % 2 == 0)

    thread = threading.Thread(target=tell)
    thread.start()
    read: list[tuple[bool, int]] = []
    while thread.is_alive() or len(read) < told:
        read += board.pedal_edges()
    assert [down for down, _ in read] == [n % 2 == 0 for n in range(told)]
    board.close()
