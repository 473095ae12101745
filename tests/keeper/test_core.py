"""The keeper's rules on a clock that we turn, and a Hypothesis machine that tries to get light out of it wrongly."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from timer.keeper.local.memory import Memory, recollect
from timer.keeper.local.rules import ALIVE_NS, SILENCE_NS, Core
from timer.keeper.wire import messages
from timer.keeper.wire.frames import Frame

MS = 1_000_000


class Bench:
    """A core, its board, a clock, and what it sent."""

    def __init__(self, path: Path, **options: Any) -> None:
        self.now = 1_000 * MS
        self.lit = False
        self.edges: list[tuple[bool, int]] = []
        self.sent: list[messages.Message] = []
        self.sounds: list[int] = []
        self.path = path
        self.memory = Memory(path)
        self.core = Core(self, self.memory, lambda: self.now, lambda message, _: self.sent.append(message), **options)
        self.number = 0

    def lamp(self, on: bool) -> int:
        if on != self.lit:
            self.edges.append((on, self.now))
        self.lit = on
        return self.now

    def safelight(self, on: bool) -> None:
        pass

    def sound(self, cue: int) -> None:
        self.sounds.append(cue)

    def say(self, command: messages.Command) -> messages.Message:
        self.number += 1
        self.core.frame(messages.to_frame(command, self.number))
        return next(a for a in reversed(self.sent) if isinstance(a, messages.Answer))

    def beat(self) -> None:
        self.core.frame(messages.to_frame(messages.Heartbeat(), 0))

    def pass_time(self, ms: int, beating: bool = True) -> None:
        end = self.now + ms * MS
        beat = self.now
        while self.now < end:
            due = self.core.next_due_ns()
            steps = [end] + ([due] if due is not None else []) + ([beat + 200 * MS] if beating else [])
            self.now = max(self.now, min(steps))
            self.core.due()
            if beating and self.now >= beat + 200 * MS:
                beat = self.now
                self.beat()

    def pedal(self, down: bool) -> None:
        self.core.pedal(down, self.now)

    def events(self, kind: type[messages.Message]) -> list[messages.Message]:
        return [message for message in self.sent if isinstance(message, kind)]


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Callable[..., Bench]]:
    """Makes benches on one memory, and closes them."""
    made: list[Bench] = []

    def bench(**options: Any) -> Bench:
        made.append(Bench(tmp_path / "memory", **options))
        return made[-1]

    yield bench
    for each in made:
        each.memory.close()


@pytest.fixture
def bench(make: Callable[..., Bench]) -> Bench:
    return make()


def test_an_exposure_carries_its_end(bench: Bench) -> None:
    assert bench.say(messages.Arm(1, 2_000_000, True)) == messages.Done()
    bench.pass_time(5000)
    (_, on), (_, off) = bench.edges
    assert off - on == 2_000 * MS
    assert bench.events(messages.Dark) == [
        messages.Dark(1, 2_000_000, on // 1000, off // 1000, messages.EndReason.COMPLETE, 0)
    ]


class Sleeping:
    """For how long the machine has slept, in ns."""

    def __init__(self) -> None:
        self.ns = 0

    def __call__(self) -> int:
        return self.ns


def test_a_machine_that_sleeps_in_a_light_has_given_all_of_it(make: Callable[..., Bench]) -> None:
    """The monotonic clock stands in a sleep (clock_gettime(2)) and the lamp does not: 0.5 s, 60 s asleep, and no more of it."""
    asleep = Sleeping()
    bench = make(slept=asleep)
    bench.say(messages.Arm(1, 2_000_000, True))
    bench.pass_time(500)
    asleep.ns = 60_000 * MS
    bench.pass_time(3000)
    (_, on), (_, off) = bench.edges
    assert off - on <= 510 * MS  # by the clock that stood
    (dark,) = bench.events(messages.Dark)
    assert isinstance(dark, messages.Dark)
    assert dark.why == messages.EndReason.LATE
    assert dark.off_us - dark.on_us == pytest.approx(60_500_000, abs=10_000)
    record = bench.say(messages.AskRecord(1))
    assert isinstance(record, messages.ExposureRecord)
    assert record.off_us == dark.off_us
    assert bench.memory.last_light.off_ns == off  # from which its rest is counted


def test_a_sleep_before_a_light_is_none_of_it(make: Callable[..., Bench]) -> None:
    asleep = Sleeping()
    bench = make(slept=asleep)
    asleep.ns = 60_000 * MS
    bench.say(messages.Arm(1, 2_000_000, True))
    bench.pass_time(3000)
    (dark,) = bench.events(messages.Dark)
    assert isinstance(dark, messages.Dark)
    assert (dark.why, dark.off_us - dark.on_us) == (messages.EndReason.COMPLETE, 2_000_000)


def test_a_focus_light_ends_with_a_sleep(make: Callable[..., Bench]) -> None:
    asleep = Sleeping()
    bench = make(slept=asleep)
    bench.say(messages.FocusLight(60_000_000))
    bench.pass_time(500)
    assert bench.lit
    asleep.ns = 10_000 * MS
    bench.pass_time(10)
    assert not bench.lit


def test_cues_are_timed_and_ticks_do_not_hide_them(bench: Bench) -> None:
    bench.say(messages.Arm(1, 4_000_000, True, ((1_000_000, messages.Cue.WARN), (2_900_000, messages.Cue.CHANGE))))
    bench.pass_time(5000)
    cues = [(cue.at_us, cue.cue) for cue in bench.events(messages.CueEvent) if isinstance(cue, messages.CueEvent)]
    assert cues == [(1_000_000, messages.Cue.WARN), (2_000_000, messages.Cue.TICK), (2_900_000, messages.Cue.CHANGE)]
    assert bench.sounds[-1] == messages.Cue.END


def test_the_ceiling_is_refused(bench: Bench) -> None:
    assert bench.say(messages.Arm(1, 120_000_001, True)) == messages.Refusal(messages.RefusalReason.OVER_CEILING)
    assert not bench.edges


def test_no_exposure_is_given_twice(bench: Bench, make: Callable[..., Bench]) -> None:
    bench.say(messages.Arm(9, 100_000, True))
    bench.pass_time(500)
    assert bench.say(messages.Arm(9, 100_000, True)) == messages.Refusal(messages.RefusalReason.ALREADY_GIVEN)
    later = make()  # a keeper started anew remembers
    assert later.say(messages.Arm(9, 100_000, False)) == messages.Refusal(messages.RefusalReason.ALREADY_GIVEN)


def test_a_command_sent_again_is_answered_again_and_done_once(bench: Bench) -> None:
    frame = messages.to_frame(messages.Arm(1, 200_000, True), 5)
    for _ in range(3):
        bench.core.frame(frame)
    assert bench.sent.count(messages.Done()) == 3
    bench.pass_time(1000)
    assert len(bench.edges) == 2


def test_the_pedal_fires_what_is_armed_and_only_that(bench: Bench) -> None:
    bench.pedal(True)
    bench.pass_time(100)
    bench.pedal(False)
    assert bench.events(messages.Pedal) == [messages.Pedal(messages.Press.DOWN, 1_001_000)]
    bench.pass_time(500)
    bench.say(messages.Arm(1, 3_000_000, False))
    bench.pedal(True)
    bench.pass_time(2)
    assert bench.lit
    bench.pass_time(2000)  # the foot stays on it: the press that began the light does not end it
    assert bench.lit
    bench.pass_time(2000)
    assert [why.why for why in bench.events(messages.Dark) if isinstance(why, messages.Dark)] == [
        messages.EndReason.COMPLETE
    ]


def test_a_long_press_in_the_light_is_dark(bench: Bench) -> None:
    bench.say(messages.Arm(1, 9_000_000, True))
    bench.pass_time(1000)
    bench.pedal(True)
    bench.pass_time(700)
    assert bench.lit
    bench.pass_time(200)
    assert not bench.lit
    assert messages.Press.HOLD in [p.press for p in bench.events(messages.Pedal) if isinstance(p, messages.Pedal)]


def test_no_press_ends_one_exposure_and_starts_the_next(bench: Bench) -> None:
    bench.say(messages.Arm(1, 1_000_000, True))
    bench.pass_time(990)
    bench.pedal(True)
    bench.pass_time(100)
    bench.say(messages.Arm(2, 1_000_000, False))
    bench.pass_time(3000)
    assert not bench.lit
    assert len(bench.edges) == 2


def test_silence_is_dark(bench: Bench) -> None:
    bench.say(messages.Arm(1, 60_000_000, True))
    bench.pass_time(3000, beating=False)
    (_, on), (_, off) = bench.edges
    assert off - on == SILENCE_NS


def test_silence_disarms(bench: Bench) -> None:
    bench.say(messages.Arm(1, 60_000_000, False))
    bench.pass_time(3000, beating=False)
    assert bench.events(messages.Disarmed) == [messages.Disarmed(1, messages.EndReason.HOST_SILENT)]
    bench.pedal(True)
    bench.pass_time(50)
    assert not bench.edges
    assert bench.events(messages.Pedal)  # it was a press, and nothing was armed for it


def test_focus_light_warns_and_ends(bench: Bench) -> None:
    assert bench.say(messages.FocusLight(20_000_000)) == messages.Done()
    assert bench.say(messages.Arm(1, 100_000, True)) == messages.Refusal(messages.RefusalReason.BUSY)
    bench.pass_time(6000)
    assert messages.FocusLightChanged(15_000_000, messages.EndReason.COMPLETE) in bench.sent
    bench.pass_time(20000)
    assert not bench.lit
    assert messages.FocusLightChanged(0, messages.EndReason.TIME_UP) in bench.sent
    assert bench.say(messages.FocusLight(601_000_000)) == messages.Refusal(messages.RefusalReason.OVER_CEILING)


def test_the_focus_light_cannot_be_renewed_without_end(bench: Bench) -> None:
    """Ten minutes on, however often it is asked for; each minute of dark makes up for one of light."""
    minute = 60_000_000
    for _ in range(3):
        assert bench.say(messages.FocusLight(4 * minute)) == messages.Done()
        bench.pass_time(200_000)
    bench.pass_time(60_000)
    assert not bench.lit
    on = bench.edges[-1][1] - bench.edges[0][1]
    assert on == pytest.approx(600_000 * MS, abs=MS)
    bench.pass_time(200_000)
    assert bench.say(messages.FocusLight(10 * minute)) == messages.Done()
    begun = bench.now
    bench.pass_time(600_000)
    assert (bench.edges[-1][1] - begun) / MS == pytest.approx(260_000, abs=1000)


def test_focus_light_that_was_on_too_long_is_refused(bench: Bench) -> None:
    bench.say(messages.FocusLight(600_000_000))
    bench.pass_time(600_500)
    assert bench.say(messages.FocusLight(5_000_000)) == messages.Refusal(messages.RefusalReason.TOO_HOT)


def test_a_fault_is_sticky(bench: Bench) -> None:
    bench.say(messages.Arm(1, 5_000_000, True))
    bench.core.fault("relay stuck")
    assert not bench.lit
    assert bench.say(messages.Arm(2, 5_000_000, True)) == messages.Refusal(messages.RefusalReason.FAULT)
    bench.say(messages.Halt())
    assert bench.say(messages.FocusLight(5_000_000)) == messages.Refusal(messages.RefusalReason.FAULT)


def test_a_fault_ends_the_focus_light(bench: Bench) -> None:
    bench.say(messages.FocusLight(5_000_000))
    bench.core.fault("relay stuck")
    assert not bench.lit
    assert bench.core.state is messages.State.FAULT


def test_what_it_remembers_of_a_light_that_was_never_ended(bench: Bench) -> None:
    bench.say(messages.Arm(77, 5_000_000, True))
    bench.pass_time(1234)
    memory = recollect(bench.path)  # as after a kill -9
    assert memory
    entry = memory.entries[77]
    assert entry.why is None
    assert entry.off_ns == 0
    assert 0 <= bench.now - entry.alive_ns <= ALIVE_NS


def test_a_time_lapse_scales_light_and_not_the_dead_man(make: Callable[..., Bench]) -> None:
    bench = make(speed_permille=20_000)
    bench.say(messages.Arm(1, 8_000_000, True))
    bench.pass_time(1000)
    (_, on), (_, off) = bench.edges
    assert off - on == 400 * MS
    dark = bench.events(messages.Dark)[0]
    assert isinstance(dark, messages.Dark)
    assert dark.off_us - dark.on_us == 8_000_000


def test_a_memory_that_is_not_one_is_begun_anew(tmp_path: Path) -> None:
    path = tmp_path / "memory"
    path.write_bytes(b"not a memory")
    assert recollect(path) is None
    fresh = Memory(path)
    fresh.begin(5, 1000, 1, 1000)
    memory = recollect(path)
    assert memory
    assert list(memory.entries) == [5]
    fresh.close()


@settings(max_examples=150, stateful_step_count=40, deadline=None)
class NoLightOfItsOwn(RuleBasedStateMachine):
    """Whatever comes in: light only when ordered, never longer than ordered, never past silence or halt."""

    def __init__(self) -> None:
        super().__init__()
        import tempfile

        self.folder = tempfile.TemporaryDirectory()
        self.bench = Bench(Path(self.folder.name) / "m")
        self.ordered: dict[int, int] = {}
        self.down = False
        self.next = 0

    def teardown(self) -> None:
        self.bench.memory.close()
        self.folder.cleanup()

    @rule(on_us=st.integers(1, 130_000_000), now=st.booleans())
    def arm(self, on_us: int, now: bool) -> None:
        self.next += 1
        answer = self.bench.say(messages.Arm(self.next, on_us, now))
        if answer == messages.Done():
            self.ordered[self.next] = on_us

    @rule()
    def halt(self) -> None:
        self.bench.say(messages.Halt())
        assert not self.bench.lit

    @rule(ms=st.integers(1, 5000), beating=st.booleans())
    def wait(self, ms: int, beating: bool) -> None:
        self.bench.pass_time(ms, beating)

    @rule()
    def foot(self) -> None:
        self.down = not self.down
        self.bench.pedal(self.down)

    @rule(seconds=st.integers(0, 700))
    def view(self, seconds: int) -> None:
        self.bench.say(messages.FocusLight(seconds * 1_000_000))

    @rule(kind=st.integers(0, 255), number=st.integers(0, 9), body=st.binary(max_size=40))
    def noise(self, kind: int, number: int, body: bytes) -> None:
        if kind != messages.Arm.TYPE_ID and kind != messages.FocusLight.TYPE_ID:
            self.bench.core.frame(Frame(kind, number, body))

    @precondition(lambda self: self.bench.core.state is not messages.State.FAULT)
    @rule()
    def fault(self) -> None:
        if self.next > 8:
            self.bench.core.fault("test")

    @invariant()
    def lit_only_in_a_state_that_says_so(self) -> None:
        assert self.bench.lit == (self.bench.core.state in (messages.State.LIT, messages.State.FOCUS))

    @invariant()
    def no_more_than_ordered(self) -> None:
        given: dict[int, int] = {}
        for dark in self.bench.events(messages.Dark):
            assert isinstance(dark, messages.Dark)
            assert dark.exposure not in given
            given[dark.exposure] = dark.off_us - dark.on_us
            assert given[dark.exposure] <= self.ordered[dark.exposure] + 1


TestNoLightOfItsOwn = NoLightOfItsOwn.TestCase
