"""The board by itself: a loop that hangs, interrupts that stand still, a clock that stops, memory that is not what it was."""

import random

import pytest

from tests.hil.script import MHZ, MS, TRUE_US, Script, Story
from tests.hil.sim import built
from timer.keeper.wire import messages
from timer.keeper.wire.messages import EndReason, State

NAME, OTHER = 0xABCD_0001, 0xABCD_0002
WATCHDOG_MS = 64
HANGS_MS = 60
"""When the fault comes; the lamp has been lit for some 38 ms."""
ENTRY_BYTES = messages.ExposureRecord.LAYOUT.size + 5
TCCR1B, TIMSK1, UCSR0B = 0x81, 0x6F, 0xC1


def _lit(on_ms: int = 5_000) -> Script:
    script = Script()
    script.say(20 * MS, messages.Arm(NAME, on_ms * 1000, True))
    return script


def _dark_within(story: Story, ms: float) -> int:
    """How long the one light lasted, in µs; it was dark that soon after the fault, and stayed so."""
    ((on, off),) = story.lights
    assert len(story.lamp) == 2
    assert off <= (HANGS_MS + ms) * MS
    return (off - on) // MHZ


# ── the watchdog ─────────────────────────────────────────────────────────────


def test_a_loop_that_hangs_is_dark_and_the_light_is_known() -> None:
    """Interrupts still run: the last of them to see the lamp lit tells to a tenth of a millisecond when it ended."""
    script = _lit()
    script.hang(HANGS_MS * MS, "keeper_turn", heal=130 * MS)
    script.say(200 * MS, messages.AskRecord(NAME))
    story = script.run(250)
    given = _dark_within(story, WATCHDOG_MS + 2)
    (dark,) = story.of(messages.Dark)  # told by itself, when it is up again
    assert (dark.exposure, dark.why) == (NAME, EndReason.FAULT)
    assert 0 <= given - (dark.off_us - dark.on_us) <= 150
    (record,) = story.of(messages.ExposureRecord)
    assert record == messages.ExposureRecord(True, *_values(dark))


def _values(dark: messages.Dark) -> tuple[int, int, int, int, int, int]:
    return dark.exposure, dark.ordered_us, dark.on_us, dark.off_us, dark.why, dark.counts


def test_a_loop_that_hangs_still_ends_the_light_at_its_time() -> None:
    """The end of every light is in the timer: it does not need the loop."""
    script = _lit(50)
    script.hang(HANGS_MS * MS, "keeper_turn", heal=130 * MS)
    story = script.run(250)
    assert _dark_within(story, 20) == pytest.approx(50_000, abs=TRUE_US)
    (dark,) = story.of(messages.Dark)
    assert dark.off_us - dark.on_us == pytest.approx(50_000, abs=150)


def test_a_loop_that_hangs_with_focus_light() -> None:
    script = Script()
    script.say(20 * MS, messages.FocusLight(60_000_000))
    script.hang(HANGS_MS * MS, "keeper_turn", heal=130 * MS)
    story = script.run(250)
    _dark_within(story, WATCHDOG_MS + 2)
    assert story.of(messages.Dark) == []


def test_interrupts_that_stand_still_are_dark_and_the_light_is_known() -> None:
    """Nothing but the watchdog is left: the light lasts until it comes, and the record says so."""
    script = _lit()
    script.at(HANGS_MS * MS, "deaf")
    script.hang(HANGS_MS * MS, "keeper_turn", heal=130 * MS)
    story = script.run(250)
    given = _dark_within(story, WATCHDOG_MS + 2)
    (dark,) = story.of(messages.Dark)
    assert dark.why == EndReason.FAULT
    assert dark.off_us - dark.on_us == pytest.approx(given, abs=2_000)


def test_interrupts_that_stand_still_past_the_end() -> None:
    """The one way in which light can outlast its end: by the watchdog's period at most, and it is told."""
    script = _lit(50)
    script.at(HANGS_MS * MS, "deaf")
    script.hang(HANGS_MS * MS, "keeper_turn", heal=130 * MS)
    story = script.run(250)
    given = _dark_within(story, WATCHDOG_MS + 2)
    (dark,) = story.of(messages.Dark)
    assert dark.off_us - dark.on_us == pytest.approx(given, abs=2_000)


def test_a_clock_that_stops_is_a_hang() -> None:
    """Without the timer no light would ever end, and silence would never come: the loop stops petting the watchdog."""
    script = _lit()
    script.write(HANGS_MS * MS, TCCR1B, 0)
    story = script.run(250)
    _dark_within(story, WATCHDOG_MS + 3)
    assert story.of(messages.Dark)


def test_an_end_that_is_missed_has_another_behind_it() -> None:
    """The compare interrupt is switched off again and again: the timer's overflows end the light, and it is called late."""
    script = _lit(200)
    for n in range(4_000):
        script.write(30 * MS + n * 100 * MHZ, TIMSK1, 1)
    story = script.run(500)
    ((on, off),) = story.lights
    assert 200_000 < (off - on) / MHZ <= 200_000 + 3 * 32_768
    (dark,) = story.of(messages.Dark)
    assert dark.why == EndReason.LATE
    assert dark.off_us - dark.on_us == pytest.approx((off - on) / MHZ, abs=100)


def test_a_receiver_that_is_switched_off_is_silence() -> None:
    script = _lit()
    script.beats(30, 2_000)
    script.write(HANGS_MS * MS, UCSR0B, 0x08)
    story = script.run(1_500)
    _dark_within(story, 901)
    (dark,) = story.of(messages.Dark)
    assert dark.why == EndReason.HOST_SILENT


# ── silence ──────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("seed", range(4))
def test_silence_is_dark_after_900_ms(seed: int) -> None:
    last = 100 + random.Random(seed).uniform(0, 300)
    script = _lit(60_000)
    script.say(last * MS, messages.Heartbeat(), 0)
    story = script.run(last + 1_000)
    story.assert_true()
    ((_, off),) = story.lights
    assert last + 900 <= off / MS <= last + 903
    assert [dark.why for dark in story.of(messages.Dark)] == [EndReason.HOST_SILENT]


def test_noise_is_no_word_from_the_host() -> None:
    """Bytes that are no frame, and frames that are damaged, keep nothing alight."""
    chance = random.Random(3)
    script = _lit(60_000)
    for n in range(200):
        script.raw((50 + 8 * n) * MS, b"\0" + chance.randbytes(60) + b"\0")
    story = script.run(1_100)
    ((_, off),) = story.lights
    assert off <= 925 * MS


def test_an_armed_exposure_is_dropped_and_that_is_told() -> None:
    script = Script()
    script.say(20 * MS, messages.Arm(NAME, 1_000_000, False))
    script.foot(1_000 * MS, True)
    story = script.run(1_100)
    assert story.of(messages.Disarmed) == [messages.Disarmed(NAME, EndReason.HOST_SILENT)]
    assert story.lamp == []
    assert [press.press for press in story.of(messages.Pedal)] == [messages.Press.DOWN]


def test_focus_light_is_dark_in_silence() -> None:
    script = Script()
    script.say(20 * MS, messages.FocusLight(60_000_000))
    story = script.run(1_100)
    ((_, off),) = story.lights
    assert off <= 925 * MS
    assert story.of(messages.FocusLightChanged)[-1] == messages.FocusLightChanged(0, EndReason.HOST_SILENT)


# ── the lamp's line ──────────────────────────────────────────────────────────


@pytest.mark.parametrize("armed", [False, True])
def test_a_line_that_is_high_when_it_should_be_low_is_a_sticky_fault(armed: bool) -> None:
    script = Script()
    script.beats(20, 400)
    if armed:
        script.say(30 * MS, messages.Arm(NAME, 1_000_000, False))
    script.at(HANGS_MS * MS, "line 1")
    script.say(200 * MS, messages.Arm(OTHER, 1_000, True))
    script.say(220 * MS, messages.FocusLight(1_000_000))
    script.say(240 * MS, messages.Hello())
    story = script.run(400)
    assert "lamp line is high" in story.of(messages.Fault)[0].text
    assert [no.reason for no in story.of(messages.Refusal)] == [messages.RefusalReason.FAULT] * 2
    assert story.of(messages.HeartbeatReply)[-1].state == State.FAULT
    assert len(story.of(messages.Fault)) == 2  # whoever greets it is told why nothing is lit
    assert len(story.of(messages.Disarmed)) == armed
    assert story.of(messages.Lit) == []


def test_a_line_that_is_low_when_it_should_be_high_is_no_light() -> None:
    """A short to ground: what did not shine is not claimed."""
    script = _lit()
    script.at(HANGS_MS * MS, "line 0")
    story = script.run(100)
    ((on, off),) = story.lights
    (dark,) = story.of(messages.Dark)
    assert dark.why == EndReason.FAULT
    assert dark.off_us - dark.on_us == pytest.approx((off - on) / MHZ, abs=2_500)
    assert "lamp line is low" in story.of(messages.Fault)[0].text


def test_a_spike_on_the_line_is_no_fault() -> None:
    script = Script()
    script.beats(20, 400)
    script.at(HANGS_MS * MS, "line 1")
    script.write(HANGS_MS * MS + 300 * MHZ, 0x24, 0x02 | 0x01)  # it is driven again
    story = script.run(300)
    assert story.of(messages.Fault) == []


# ── resets ───────────────────────────────────────────────────────────────────


def test_what_was_armed_is_dropped_by_a_reset_and_that_is_told() -> None:
    script = Script()
    script.say(20 * MS, messages.Arm(OTHER, 10_000, True))
    script.say(60 * MS, messages.Arm(NAME, 1_000_000, False))
    script.reset(100 * MS)
    script.foot(150 * MS, True)
    script.beats(200, 300)
    story = script.run(300)
    assert story.of(messages.Disarmed) == [messages.Disarmed(NAME, EndReason.FAULT)]
    assert len(story.lights) == 1
    events = [said.number for said in story.said if isinstance(said.message, messages.Event)]
    assert events == [1, 2, 3, 4]  # Lit, Dark | Disarmed, Pedal: numbered on, so that none is lost without a gap
    assert story.of(messages.HeartbeatReply)[-1].events == 4


def _after_a_reset(moment: int, first: int, count: int, step: int, on_ms: int) -> list[Story]:
    script = _lit(on_ms)
    script.reset(moment + first, moves=True)
    script.say(moment + 40 * MS, messages.AskRecord(NAME))
    return script.run_cases(moment / MS + 60, moment + first - MS, count, step)


@pytest.mark.parametrize("edge", ["on", "off"])
def test_a_reset_at_any_cycle_leaves_a_true_record(edge: str) -> None:
    """Around both edges of a light, where the record is being written: its light is known to 0.2 ms, or it had none."""
    on, off = _lit(30).run(80).lights[0]
    moment = on if edge == "on" else off
    unknown = 0
    stories = _after_a_reset(moment, -6_000, 1_200, 11, 30) + _after_a_reset(moment, -300, 600, 1, 30)
    for story in stories:
        assert len(story.lamp) in (0, 2)
        given = (story.lights[0][1] - story.lights[0][0]) / MHZ if story.lights else 0
        (record,) = story.of(messages.ExposureRecord)
        if record.known:
            assert record.off_us
            assert record.off_us - record.on_us == pytest.approx(given, abs=200)
        else:
            unknown += 1
            assert given == 0
    assert (unknown > 0) == (edge == "on")


def test_counts_outlive_a_reset() -> None:
    script = Script()
    script.at(0, "light 2500")
    script.say(20 * MS, messages.Arm(NAME, 5_000_000, True))
    script.reset(320 * MS)
    (dark,) = script.run(400).of(messages.Dark)
    assert dark.counts == pytest.approx(512 * 9_615 * (dark.off_us - dark.on_us) / 1e6, rel=0.01)


@pytest.mark.parametrize("seed", range(12))
def test_memory_that_did_not_survive_is_not_known(seed: int) -> None:
    """Every byte of static memory is anything after a power cut: nothing is made up from it, and nothing is lit."""
    chance = random.Random(seed)
    script = Script()
    for n in range(3):
        script.say((20 + 40 * n) * MS, messages.Arm(NAME + n, 10_000, True))
    script.reset(200 * MS)
    for address in range(0x100, built().symbols["_end"] & 0xFFFF):
        script.write(200 * MS, address, chance.randrange(256))
    for n in range(3):
        script.say((300 + 20 * n) * MS, messages.AskRecord(NAME + n))
    script.beats(380, 400)
    story = script.run(450)
    assert [record.known for record in story.of(messages.ExposureRecord)] == [False] * 3
    assert len(story.lights) == 3
    assert len(story.of(messages.Dark)) == 3
    assert story.of(messages.Disarmed) == []
    assert story.of(messages.HeartbeatReply)[-1] == messages.HeartbeatReply(
        0, False, story.of(messages.HeartbeatReply)[-1].now_us, 0
    )


@pytest.mark.parametrize("seed", range(40))
def test_a_flipped_bit_spoils_one_record_and_never_falsifies_it(seed: int) -> None:
    symbols = built().symbols
    first = symbols["entries"] & 0xFFFF
    end = first + 8 * ENTRY_BYTES
    chance = random.Random(seed)
    address, bit = chance.randrange(first, end), 1 << chance.randrange(8)
    script = Script()
    for n in range(8):
        script.say((20 + 40 * n) * MS, messages.Arm(NAME + n, 10_000 + n, True))
    script.at(400 * MS, f"flip {address:x} {bit:x}")
    script.reset(400 * MS)
    for n in range(8):
        script.say((450 + 20 * n) * MS, messages.AskRecord(NAME + n))
    story = script.run(650)
    records = story.of(messages.ExposureRecord)
    assert sum(not record.known for record in records) == 1
    for n, record in enumerate(records):
        if record.known:
            assert record.off_us - record.on_us == pytest.approx(10_000 + n, abs=1)
