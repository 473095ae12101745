"""Where the low half of the board's clock wraps (32 bits of half microseconds: each 36 min), which is set to be soon.

Interrupts stamp edges, readings and the last sign of life with that half; what they say must be put together rightly.
"""

import random

import pytest

from tests.hil.script import MHZ, MS, Script, Story
from tests.hil.sim import built
from timer.keeper.wire import messages
from timer.keeper.wire.messages import EndReason

LAP_MS = 65_536 / 2_000
WRAP_MS = 4 * LAP_MS + 0.42
"""Since power-up, which is so much before the clock's start: the timer's laps are set on while it is idle."""
NAMES = iter(range(0x7000, 10**9))


def _wrapping() -> Script:
    """The count of the timer's laps as after a thousand wraps, four laps before the next: its low 16 bits stand above TCNT1."""
    script = Script()
    high = built().symbols["high"] & 0xFFFF
    for n, byte in enumerate(((1000 << 16) | 0xFFFC).to_bytes(4, "little")):
        script.write(5 * MS, high + n, byte)
    return script


def _script(light_ms: float = 0) -> Script:
    script = _wrapping()
    script.beats(10, WRAP_MS + 2_000 + light_ms)
    return script


def test_it_wraps_where_it_is_meant_to() -> None:
    script = _script()
    script.say((WRAP_MS - 60) * MS, messages.Arm(next(NAMES), 90_000, True))
    story = script.run(WRAP_MS + 100)
    (lit,) = story.of(messages.Lit)
    to_go_ms = (2**32 - 2 * lit.at_us % 2**32) / 2_000
    assert story.lights[0][0] / MS + to_go_ms == pytest.approx(WRAP_MS, abs=0.05)


def _given(story: Story, name: int) -> messages.Dark:
    (dark,) = [dark for dark in story.of(messages.Dark) if dark.exposure == name]
    return dark


@pytest.mark.parametrize("seed", range(3))
def test_lights_over_and_near_the_wrap_are_exact(seed: int) -> None:
    chance = random.Random(seed)
    for _ in range(4):
        name, us = next(NAMES), chance.randint(5_000, 95_000)
        script = _script()
        script.say((WRAP_MS - chance.uniform(0, us / 1000 + 8)) * MS, messages.Arm(name, us, True))
        story = script.run(WRAP_MS + us / 1000 + 100)
        assert [(off - on) / MHZ for on, off in story.lights] == pytest.approx([us], abs=2)
        assert _given(story, name).why == EndReason.COMPLETE
        story.assert_true()


@pytest.mark.parametrize("before_ms", [-0.6, 0.1, 0.5, 0.9, 1.4])
def test_a_press_at_the_wrap_is_one_light_in_time(before_ms: float) -> None:
    """The millisecond of its closure, or the light, is on both sides of it."""
    name, at = next(NAMES), WRAP_MS - before_ms
    script = _script()
    script.say((WRAP_MS - 60) * MS, messages.Arm(name, 40_000, False))
    script.foot(at * MS, True)
    script.foot((at + 100) * MS, False)
    story = script.run(WRAP_MS + 300)
    ((on, _),) = story.lights
    assert 1_000 <= on / MHZ - at * 1_000 <= 2_000
    story.assert_true()


def test_a_hold_over_the_wrap_is_dark() -> None:
    name = next(NAMES)
    script = _script(2_000)
    script.say((WRAP_MS - 120) * MS, messages.Arm(name, 3_000_000, True))
    script.foot((WRAP_MS - 10) * MS, True)
    story = script.run(WRAP_MS + 1_500)
    dark = _given(story, name)
    assert dark.why == EndReason.PEDAL
    assert story.lights[0][1] / MHZ == pytest.approx((WRAP_MS - 10 + 800) * 1_000, abs=2_000)
    story.assert_true()


def test_a_dose_over_the_wrap_ends_by_its_count() -> None:
    """1 V of 5 V is 205 of 1,023, 9,615 times a second (docs/protocol.md, rule 12): 100 ms of it, by half-cycles of 10 ms."""
    name = next(NAMES)
    script = _script()
    script.at(0, "light 1000")
    script.say((WRAP_MS - 50) * MS, messages.Dose(name, round(205 * 961.5), 1_000_000, 10_000, True))
    story = script.run(WRAP_MS + 300)
    ((on, off),) = story.lights
    assert (off - on) / MHZ == pytest.approx(100_000, abs=300)
    assert _given(story, name).why == EndReason.COMPLETE
    story.assert_true()


@pytest.mark.parametrize("after_ms", [-5.0, 1.0, 40.0])
def test_a_reset_near_the_wrap_leaves_a_true_record(after_ms: float) -> None:
    name = next(NAMES)
    script = _script()
    script.say((WRAP_MS - 60) * MS, messages.Arm(name, 900_000, True))
    script.reset((WRAP_MS + after_ms) * MS)
    story = script.run(WRAP_MS + 500)
    ((on, off),) = story.lights
    dark = _given(story, name)
    assert dark.why == EndReason.FAULT
    assert dark.off_us - dark.on_us == pytest.approx((off - on) / MHZ, abs=200)


def test_silence_over_the_wrap_is_dark_in_time() -> None:
    name = next(NAMES)
    script = _wrapping()
    heard = script.say((WRAP_MS - 60) * MS, messages.Arm(name, 9_000_000, True))
    story = script.run(WRAP_MS + 2_000)
    ((_, off),) = story.lights
    assert _given(story, name).why == EndReason.HOST_SILENT
    assert (off - heard) / MHZ == pytest.approx(900_000, abs=5_000)
    story.assert_true()
