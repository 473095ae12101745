"""Two things in one moment, moved past each other by single cycles: it is dark, once, and what is told is what was.

Each test first runs the script without the one that moves, to learn in which cycle the other happens, and then again with
it at every offset (``DENSE``, each cycle around that moment) and in wider steps on both sides.
"""

from collections.abc import Callable

import pytest

from tests.hil.script import MHZ, MS, Script, Story
from timer.keeper.wire import messages
from timer.keeper.wire.messages import EndReason

NAME, OTHER = 0x1111, 0x2222
CLOSED = MS  # a press is due a millisecond after its contact closed
DENSE = 300
WIDE, STEP = 16_000, 97

Build = Callable[[], Script]


def _sweep(build: Build, move: Callable[[Script, float], None], moment: int, tail_ms: float = 13) -> list[Story]:
    """The stories of ``build`` with ``move`` called for every cycle around ``moment``; the tail is for what is told of it."""
    stories = []
    for first, count, step in ((-DENSE, 2 * DENSE, 1), (-WIDE, 2 * WIDE // STEP, STEP)):
        script = build()
        move(script, moment + first)
        stories += script.run_cases(moment / MS + tail_ms, moment + first - 2 * MS, count, step)
    for story in stories:
        story.assert_true()
    return stories


def _press(script: Script, due: float) -> None:
    """A press that is due at that cycle."""
    script.foot(due - CLOSED, True, moves=True)


def _armed() -> Script:
    script = Script()
    script.mark("rules_dark")
    script.say(20 * MS, messages.Arm(NAME, 2_000_000, False))
    return script


def _both_ways(stories: list[Story]) -> None:
    """The sweep was wide enough to see it both lit and not."""
    assert {bool(story.lamp) for story in stories} == {True, False}


@pytest.mark.parametrize("why", ["halted", "silent"])
def test_a_press_in_the_moment_of_going_dark(why: str) -> None:
    """Lit before it, and ended by it; or never lit, and told as a press. After the moment of dark nothing shines."""

    def build() -> Script:
        script = _armed()
        if why == "halted":
            script.say(60 * MS, messages.Halt())
        return script

    moment = build().run(1_000).marks["rules_dark"][0]
    stories = _sweep(build, _press, moment)
    reason = EndReason.HALTED if why == "halted" else EndReason.HOST_SILENT
    for story in stories:
        assert len(story.lights) <= 1
        going_dark = story.marks["rules_dark"][0]
        assert all(on < going_dark for on, _ in story.lights)
        assert all(off <= going_dark + 30 * MHZ for _, off in story.lights)
        assert [dark.why for dark in story.of(messages.Dark)] == [reason] * len(story.lights)
        assert len(story.of(messages.Lit)) + len(story.of(messages.Pedal)) == 1
        if why == "silent":
            assert len(story.of(messages.Disarmed)) + len(story.lights) == 1
    _both_ways(stories)


def test_a_press_in_the_moment_that_an_exposure_ends() -> None:
    """It starts nothing; and an edge of the lamp within its millisecond spoils it."""

    def build() -> Script:
        script = Script()
        script.say(20 * MS, messages.Arm(NAME, 200_000, True))
        return script

    moment = build().run(300).lights[0][1]
    stories = _sweep(build, _press, moment)
    for story in stories:
        assert len(story.lights) == 1
        assert (story.lights[0][1] - story.lights[0][0]) / MHZ == pytest.approx(200_000, abs=2)
        assert [dark.why for dark in story.of(messages.Dark)] == [EndReason.COMPLETE]
    assert {len(story.of(messages.Pedal)) for story in stories} == {0, 1}


def test_a_press_while_another_exposure_is_armed_in_its_place() -> None:
    """One of the two is lit, and only one."""

    def build() -> Script:
        script = _armed()
        script.mark("record_armed")
        script.say(60 * MS, messages.Arm(OTHER, 3_000, False))
        script.say(70 * MS, messages.Halt())  # the first of the two is long
        return script

    moment = build().run(68).marks["record_armed"][-1]
    stories = _sweep(build, _press, moment, 25)
    assert {story.of(messages.Lit)[0].exposure for story in stories} == {NAME, OTHER}
    assert all(len(story.lights) == 1 for story in stories)


@pytest.mark.parametrize("light", ["time", "dose"])
def test_halt_in_the_moment_that_an_exposure_ends(light: str) -> None:
    """By its time or by the sensor's count, in an interrupt; or by the word: one of them, and the record is true."""

    def build() -> Script:
        script = Script()
        script.mark("rules_dark")
        script.at(0, "light 2500")
        dose = messages.Dose(NAME, 80_000, 400_000, 10_000, True)
        script.say(20 * MS, messages.Arm(NAME, 30_000, True) if light == "time" else dose)
        return script

    moment = build().run(300).lights[0][1]
    reference = build()
    reference.say(moment + 30 * MS, messages.Halt())
    behind = reference.run(400).marks["rules_dark"][0] - (moment + 30 * MS)  # from its first byte to going dark

    def halt(script: Script, cycle: float) -> None:
        script.say(cycle - behind, messages.Halt(), moves=True)

    stories = _sweep(build, halt, moment)
    whys = {dark.why for story in stories for dark in story.of(messages.Dark)}
    assert whys == {EndReason.COMPLETE, EndReason.HALTED}
    for story in stories:
        assert len(story.lights) == 1
        (dark,) = story.of(messages.Dark)
        given = dark.off_us - dark.on_us
        if dark.why == EndReason.COMPLETE and light == "time":
            assert given == pytest.approx(30_000, abs=1)
        assert story.of(messages.Done)


def test_a_hold_in_the_moment_that_an_exposure_ends() -> None:
    def build() -> Script:
        script = Script()
        script.beats(30, 1_300)
        script.say(20 * MS, messages.Arm(NAME, 1_000_000, True))
        return script

    moment = build().run(1_200).lights[0][1]

    def hold(script: Script, cycle: float) -> None:
        script.foot(cycle - 800 * MS, True, moves=True)

    script = build()
    hold(script, moment - WIDE)
    stories = script.run_cases(moment / MS + 15, moment - WIDE - 801 * MS, 2 * WIDE // (STEP * 10), STEP * 10)
    for story in stories:
        story.assert_true()
        assert len(story.lights) == 1
        assert [press.press for press in story.of(messages.Pedal)] == [messages.Press.DOWN, messages.Press.HOLD]
    assert {dark.why for story in stories for dark in story.of(messages.Dark)} == {EndReason.COMPLETE, EndReason.PEDAL}
