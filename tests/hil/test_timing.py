"""How exact: edges from the simulated pin's own cycle stamps, never from what the firmware says, while the link is flooded."""

import random

import pytest

from tests.hil.script import MHZ, MS, Script, Story
from tests.hil.sim import built
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Frame, encode

NAMES = iter(range(0x5000, 10**9))
PRESS_TO_LIGHT_US = 2_000
"""docs/protocol.md, rule 3: of which 1 ms is the closure that a press needs."""


def _flood(script: Script, start_ms: float, end_ms: float, frame: bytes) -> None:
    """``frame`` as often as the line carries it."""
    at = start_ms * MS
    while at < end_ms * MS:
        at = script.raw(at, frame)


def _on_time_us(story: Story) -> list[float]:
    return [(off - on) / MHZ for on, off in story.lights]


def test_on_time_within_two_microseconds() -> None:
    """Of the timer's own lap (32.8 ms) around it, of the spin before an end (80 us), and others; with cues, under a flood."""
    asked = [60, 79, 80, 81, 100, 500, 32_767, 32_768, 32_769, 50_000, 65_536, 99_999, 131_072, 1_000_000, 2_654_321]
    script = Script()
    at_ms = 20.0
    for us in asked:
        name = next(NAMES)
        cues = ((us // 3, messages.Cue.WARN), (us // 2, messages.Cue.CHANGE))
        script.say(at_ms * MS, messages.Arm(name, us, True, cues))
        _flood(script, at_ms + 5, at_ms + us / 1000 + 10, encode(messages.to_frame(messages.AskRecord(name), 0)))
        at_ms += us / 1000 + 60
    story = script.run(at_ms)
    assert _on_time_us(story) == pytest.approx(asked, abs=2)
    told = [dark.off_us - dark.on_us for dark in story.of(messages.Dark)]
    assert told == pytest.approx(asked, abs=2)


@pytest.mark.parametrize("seed", range(3))
def test_ends_at_any_place_in_the_timers_lap(seed: int) -> None:
    chance = random.Random(seed)
    asked = [chance.randint(30, 120_000) for _ in range(40)]
    script = Script()
    at_ms = 20.0
    for us in asked:
        at_ms += chance.uniform(0, 33)
        script.say(at_ms * MS, messages.Arm(next(NAMES), us, True))
        at_ms += us / 1000 + 25
    assert _on_time_us(script.run(at_ms)) == pytest.approx(asked, abs=2)


def test_two_minutes_within_two_microseconds() -> None:
    script = Script()
    script.beats(10, 120_100)
    script.say(20 * MS, messages.Arm(next(NAMES), 120_000_000, True))
    story = script.run(120_100)
    assert _on_time_us(story) == pytest.approx([120_000_000], abs=2)
    assert len(story.of(messages.CueEvent)) == 119


FLOODS = {
    "heartbeats": encode(messages.to_frame(messages.Heartbeat(), 0)),
    "records": encode(messages.to_frame(messages.AskRecord(1), 0)),
    "forty cues": encode(
        messages.to_frame(messages.Arm(7, 40_000, False, tuple((40_000 - n, 1) for n in range(40)), 30_000, 2_000_000), 0)
    ),
    "unknown": encode(Frame(0x44, 0, bytes(range(240)))),
    "noise": b"\x07" * 60,
    "nothing": b"",
}


@pytest.mark.parametrize("flood", FLOODS)
def test_press_to_light_within_two_milliseconds(flood: str) -> None:
    """From the contact's closing; warm lamp and cues and all, whatever the line carries."""
    script = Script()
    script.say(5 * MS, messages.Arm(1, 10_000, True))  # a light before, so that there is a warmth to be reckoned
    cues = tuple((n, 1) for n in range(40))
    script.say(30 * MS, messages.Arm(7, 40_000, False, cues, 30_000, 2_000_000))
    if FLOODS[flood]:
        _flood(script, 130, 190, FLOODS[flood])
    else:
        script.beats(130, 190)
    step = 16 * 53
    script.foot(160 * MS, True, moves=True)
    stories = script.run_cases(175, 155 * MS, 150, step)
    late = [(story.lamp[2][0] - 160 * MS - n * step) / MHZ for n, story in enumerate(stories)]
    assert min(late) >= 1_000
    assert max(late) <= PRESS_TO_LIGHT_US


def test_ten_thousand_damaged_frames_give_no_light_and_no_hang() -> None:
    chance = random.Random(6)
    commands = (
        messages.Arm(77, 2_000_000, True, ((5, 1),)),
        messages.FocusLight(9_000_000),
        messages.Dose(78, 9, 9_000_000, 10_000, True),
    )
    whole = [encode(messages.to_frame(command, 9)) for command in commands]
    script = Script()
    at = 20.0 * MS
    for _ in range(10_000):
        data = bytearray(chance.choice(whole))
        for _ in range(chance.randint(1, 5)):
            data[chance.randrange(1, len(data) - 1)] = chance.randrange(256)
        if bytes(data) not in whole:
            at = script.raw(at, bytes(data))
    at = script.raw(at, chance.randbytes(2_000))
    at = script.raw(at, b"\0")
    script.say(at + 200 * MS, messages.AskRecord(77))
    story = script.run(at / MS + 300)
    assert story.lamp == []
    (record,) = story.of(messages.ExposureRecord)
    assert not record.known


def test_a_frame_twice_is_answered_twice_and_acted_on_once() -> None:
    script = Script()
    script.beats(30, 300)
    for n in range(3):
        script.say((20 + 5 * n) * MS, messages.Arm(5, 50_000, True), 9)
    script.say(150 * MS, messages.Arm(5, 50_000, True), 10)
    story = script.run(300)
    assert len(story.lights) == 1
    assert [said.number for said in story.said if isinstance(said.message, messages.Done)] == [9, 9, 9]
    assert [no.reason for no in story.of(messages.Refusal)] == [messages.RefusalReason.ALREADY_GIVEN]


def test_answers_do_not_crowd_out_events() -> None:
    """Records are asked for faster than the line can carry them: every event is told all the same."""
    script = Script()
    cues = tuple((n * 8_000, messages.Cue.WARN) for n in range(8))
    script.say(20 * MS, messages.Arm(5, 70_000, True, cues), 1)
    _flood(script, 21, 120, encode(messages.to_frame(messages.AskRecord(5), 0)))
    story = script.run(180)
    numbers = [said.number for said in story.said if isinstance(said.message, messages.Event)]
    assert numbers == [*range(1, 11)]
    assert len(story.of(messages.ExposureRecord)) < 40  # of some 70 that were asked for


def test_an_event_that_does_not_fit_is_a_gap_in_the_numbers() -> None:
    """Forty cues at once are more than the line carries: some are lost, their numbers are not, and the record has the light."""
    script = Script()
    cues = tuple((n, messages.Cue.WARN) for n in range(40))
    script.say(20 * MS, messages.Arm(5, 25_000, True, cues), 1)
    script.say(200 * MS, messages.Heartbeat(), 0)
    script.say(210 * MS, messages.AskRecord(5), 2)
    story = script.run(250)
    numbers = [said.number for said in story.said if isinstance(said.message, messages.Event)]
    assert len(numbers) < 42
    assert numbers == sorted(numbers)
    assert story.of(messages.HeartbeatReply)[-1].events == 42
    record = story.of(messages.ExposureRecord)[-1]
    assert record.off_us - record.on_us == pytest.approx(25_000, abs=2)


def _warp(script: Script, near: float, seconds: int) -> None:
    """The board's clock jumps to ``seconds``, and it thinks that it has just heard of its host.

    Between two turns of its loop, after this one has looked at its silence: a run to there tells in which cycle that is.
    """
    until_there = Script()
    until_there.lines = [*script.lines]
    until_there.mark("lamp_line_is_right")
    cycle = next(at for at in until_there.run(near / MS + 5).marks["lamp_line_is_right"] if at >= near)
    symbols = built().symbols
    laps = seconds * 2_000_000 >> 16
    for name, value, size in (("high", laps, 4), ("heard_at", laps << 16, 8)):
        for n, byte in enumerate(value.to_bytes(size, "little")):
            script.write(cycle, (symbols[name] & 0xFFFF) + n, byte)


def test_focus_light_rests_for_as_long_as_it_was_on() -> None:
    """Ten minutes in all, however often it is renewed; then it is refused until it has been off for as long."""
    script = Script()
    script.say(100 * MS, messages.FocusLight(590_000_000))
    _warp(script, 300 * MS, 300)
    script.say(320 * MS, messages.FocusLight(590_000_000))  # until 600 s, since 300 of them are over
    _warp(script, 500 * MS, 599)
    script.beats(600, 2_000)
    script.say(1_700 * MS, messages.FocusLight(60_000_000))
    _warp(script, 2_000 * MS, 1_000)
    script.say(2_020 * MS, messages.FocusLight(600_000_000))
    script.say(2_120 * MS, messages.FocusLight(0))
    story = script.run(2_200)
    changes = story.of(messages.FocusLightChanged)
    lefts = [change.left_us / 1e6 for change in changes if change.left_us]
    assert lefts[0] == 590
    assert lefts[1] == pytest.approx(300, abs=0.2)
    assert lefts[2] == 15  # the warning
    assert lefts[3] == pytest.approx(400, abs=1)  # it has been off for 400 s of 600
    assert [change.why for change in changes if not change.left_us] == [
        messages.EndReason.TIME_UP,
        messages.EndReason.HALTED,
    ]
    assert [no.reason for no in story.of(messages.Refusal)] == [messages.RefusalReason.TOO_HOT]
    assert len(story.lights) == 2
