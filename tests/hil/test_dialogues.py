"""The client on a line that is scripted to the byte: in order, and with each of its words lost, late, twice or in noise; and
with silence or its end at every step."""

import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.hil.dialogue import HALT, LOST, Dialogue, HangUp, Hear, Line, Say, Silence
from timer.craft.lamp_response import INSTANT
from timer.documents.recipe_file import parse_recipe
from timer.errors import KeeperError, Refused
from timer.keeper.config import Config
from timer.keeper.host import client
from timer.keeper.host.client import Heard, Keeper, Lost, Missed
from timer.keeper.wire import messages
from timer.keeper.wire.messages import Cue, EndReason, RefusalReason
from timer.notebook.store import Notebook
from timer.plans.print import print_plan
from timer.run import states
from timer.run.cues import to_keeper
from timer.run.session import Result, Session

HELLO = messages.HelloReply(messages.PROTOCOL, 2, 5_000, 120_000_000, 1000, 0, 0)
NAME = 0x00A0_0000_00B0_0001  # with zeros in it, for the stuffing
ARM = messages.Arm(NAME, 900_000, True, ((300_000, Cue.WARN),), 20_000, 500_000)
LIT = messages.Lit(NAME, 1_000_000, 890_000, False)
DARK = messages.Dark(NAME, 890_000, 1_000_000, 1_890_000, EndReason.COMPLETE, 77)
RECORD = messages.ExposureRecord(True, NAME, 890_000, 1_000_000, 1_890_000, EndReason.COMPLETE, 77)

EVENING: list[Line] = [
    Hear(messages.Hello(), 1),
    Say(HELLO, 1),
    Hear(messages.Safelight(False), 2),
    Say(messages.Done(), 2),
    Hear(messages.FocusLight(60_000_000), 3),
    Say(messages.FocusLightChanged(60_000_000, 0), 1),
    Say(messages.Done(), 3),
    Hear(messages.FocusLight(0), 4),
    Say(messages.FocusLightChanged(0, EndReason.HALTED), 2),
    Say(messages.Done(), 4),
    Hear(ARM, 5),
    Say(LIT, 3),
    Say(messages.Done(), 5),
    Say(messages.CueEvent(NAME, 300_000, Cue.WARN), 4),
    Say(DARK, 5),
    Hear(messages.AskRecord(NAME), 6),
    Say(RECORD, 6),
    Hear(messages.Dose(9, 40_000, 5_000_000, 10_000, False), 7),
    Say(messages.Done(), 7),
    Say(messages.Pedal(messages.Press.HOLD, 3_000_000), 6),
    Say(messages.Disarmed(9, EndReason.PEDAL), 7),
    Hear(ARM, 8),
    Say(messages.Refusal(RefusalReason.ALREADY_GIVEN), 8),
    Hear(messages.ReadSensor(), 9),
    Say(messages.SensorReading(512), 9),
    Hear(messages.Halt(), 10),
    Say(messages.Done(), 10),
]


@pytest.fixture(autouse=True)
def hasty(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same as ever, in a tenth of the time; not the mute time, which a busy machine needs."""
    monkeypatch.setattr(client, "ANSWER_S", 0.1)
    monkeypatch.setattr(client, "BEAT_S", 0.05)


def evening(lines: list[Line]) -> tuple[list[Any], list[Heard], Dialogue]:
    """What the questions of an evening were answered, what was heard meanwhile, and the line they were said on."""
    heard: list[Heard] = []
    results: list[Any] = []
    with Dialogue(lines) as line, Keeper(line.link, heard.append, line.ending) as keeper:
        results.append(keeper.hello)
        keeper.safelight(False)
        keeper.focus_light(60)
        keeper.focus_light(0)
        keeper.expose(NAME, 900_000, ((300_000, Cue.WARN),), now=True, less_us=20_000, recovery_us=500_000)
        _until(lambda: DARK in heard or Missed() in heard)
        results.append(keeper.record(NAME))
        keeper.dose(9, 40_000, 5_000_000, 10_000, now=False)
        _until(lambda: messages.Disarmed(9, EndReason.PEDAL) in heard or heard.count(Missed()) > 0)
        with pytest.raises(Refused, match="twice"):
            keeper.expose(NAME, 900_000, ((300_000, Cue.WARN),), now=True, less_us=20_000, recovery_us=500_000)
        results.append(keeper.sensed())
        keeper.halt()
        time.sleep(0.12)  # two heartbeats: what was lost last shows in their counter
    return results, heard, line


def _until(what: Any, seconds: float = 5) -> None:
    end = time.monotonic() + seconds
    while not what() and time.monotonic() < end:
        time.sleep(0.002)


EVENTS = [line.message for line in EVENING if isinstance(line, Say) and isinstance(line.message, messages.Event)]
RESULTS = [HELLO, RECORD, 512]
SAID = [n for n, line in enumerate(EVENING) if isinstance(line, Say)]
HEARD = [n for n, line in enumerate(EVENING) if isinstance(line, Hear)]


def _with(at: int, **changes: Any) -> list[Line]:
    return [replace(line, **changes) if n == at else line for n, line in enumerate(EVENING)]


def _name(at: int) -> str:
    line = EVENING[at]
    assert isinstance(line, Say | Hear)
    return f"{at}-{type(line.message if isinstance(line, Say) else line.command).__name__}"


def test_an_evening_to_the_last_byte() -> None:
    results, heard, line = evening(EVENING)
    assert results == RESULTS
    assert heard == EVENTS
    assert line.ending.losses == 0
    assert line.ending.closes == 1


@pytest.mark.parametrize("at", HEARD, ids=_name)
def test_a_command_that_is_lost_is_said_again(at: int) -> None:
    results, heard, line = evening(_with(at, lost=2))
    assert (results, heard) == (RESULTS, EVENTS)
    assert max(line.said.count(frame) for frame in line.said) >= 3


@pytest.mark.parametrize("at", SAID, ids=_name)
def test_a_word_that_is_lost(at: int) -> None:
    """An answer is asked for again, and not acted on again; of an event it is known that there was one."""
    results, heard, line = evening(_with(at, times=0))
    message = EVENING[at].message  # type: ignore[union-attr]
    assert results == RESULTS
    if isinstance(message, messages.Event):
        assert heard.count(Missed()) == 1
        assert [event for event in heard if event != Missed()] == [event for event in EVENTS if event != message]
    else:
        assert heard == EVENTS
        assert line.repeats >= 1


@pytest.mark.parametrize("at", SAID, ids=_name)
def test_a_word_that_is_late(at: int) -> None:
    """Later than the client waits before it says its own again."""
    results, heard, _ = evening(_with(at, delay_s=0.25))
    assert (results, heard) == (RESULTS, EVENTS)


@pytest.mark.parametrize("at", SAID, ids=_name)
def test_a_word_that_comes_twice_is_one(at: int) -> None:
    results, heard, _ = evening(_with(at, times=2))
    assert (results, heard) == (RESULTS, EVENTS)


@pytest.mark.parametrize("at", SAID, ids=_name)
def test_noise_before_a_word(at: int) -> None:
    results, heard, _ = evening(_with(at, noise=b"\x02\x00\x00\x13\x37" * 9 + b"\x00\xff\x01"))
    assert (results, heard) == (RESULTS, EVENTS)


@pytest.mark.parametrize("end", [Silence(), HangUp()], ids=["silence", "hung up"])
@pytest.mark.parametrize("at", range(2, len(EVENING)), ids=lambda at: f"{at}")
def test_an_end_at_every_step(at: int, end: Line) -> None:
    """Whatever was being said: a sentence, a last Halt in case it is heard all the same, and Lost once."""
    heard: list[Heard] = []
    began = time.monotonic()
    with Dialogue([*EVENING[:at], end]) as line, Keeper(line.link, heard.append, line.ending) as keeper:
        with pytest.raises(KeeperError, match=LOST):
            keeper.safelight(False)
            keeper.focus_light(60)
            keeper.focus_light(0)
            keeper.expose(NAME, 900_000, ((300_000, Cue.WARN),), now=True, less_us=20_000, recovery_us=500_000)
            keeper.record(NAME)
            keeper.dose(9, 40_000, 5_000_000, 10_000, now=False)
            try:
                keeper.expose(NAME, 900_000, ((300_000, Cue.WARN),), now=True, less_us=20_000, recovery_us=500_000)
            except Refused:
                keeper.sensed()
                keeper.halt()
            for _ in range(100):  # all was said: it shows at the next word
                keeper.halt()
        _until(lambda: any(isinstance(event, Lost) for event in heard))
        with pytest.raises(KeeperError):
            keeper.halt()
    assert time.monotonic() - began < 5
    assert [isinstance(event, Lost) for event in heard].count(True) == 1
    assert isinstance(heard[-1], Lost)
    assert line.ending.losses == 1
    if isinstance(end, Silence):
        assert HALT in line.said


def test_silence_is_not_said_of_a_keeper_that_is_still_starting() -> None:
    heard: list[Heard] = []
    lines: list[Line] = [Hear(messages.Hello(), 1), Say(HELLO, 1, delay_s=client.MUTE_S * 2)]
    with Dialogue(lines) as line, Keeper(line.link, heard.append, line.ending):
        pass
    assert heard == []


def test_bytes_that_are_no_frames_are_no_life() -> None:
    """A line at another speed, or another program on it: it is mute, however much comes."""
    heard: list[Heard] = []
    stop = threading.Event()
    with Dialogue([*EVENING[:2], Silence()]) as line, Keeper(line.link, heard.append, line.ending):

        def babble() -> None:
            while not stop.wait(0.02):
                line._far.sendall(b"\x55\xaa\x00\x37")

        thread = threading.Thread(target=babble)
        thread.start()
        _until(lambda: any(isinstance(event, Lost) for event in heard))
        stop.set()
        thread.join()
    assert isinstance(heard[-1], Lost)


def test_what_it_knew_of_the_light_when_it_was_lost() -> None:
    heard: list[Heard] = []
    with Dialogue([*EVENING[:13]]) as line, Keeper(line.link, heard.append, line.ending) as keeper:
        keeper.safelight(False)
        keeper.focus_light(60)
        keeper.focus_light(0)
        keeper.expose(NAME, 900_000, ((300_000, Cue.WARN),), now=True, less_us=20_000, recovery_us=500_000)
        _until(lambda: True in line.ending.lits)
        line._silent = True
        _until(lambda: any(isinstance(event, Lost) for event in heard))
        lost = heard[-1]
    assert isinstance(lost, Lost)
    assert lost.lit
    assert lost.heard_us <= lost.silent_us <= time.monotonic_ns() // 1000


# ── a session on it ──────────────────────────────────────────────────────────


PLAN = print_plan(parse_recipe('recipe = 1\ntitle = "Shed"\nbase_s = 2.0\n[paper]\nkind = "bw"\n'))
CUES = to_keeper(next(step for step in PLAN.steps if step.do == "expose"), 0.0, INSTANT)


class Stage:
    """A session of one exposure on a scripted line; its exposures are called 1, 2, ..."""

    def __init__(self, home: Path, line: Dialogue, config: Config) -> None:
        self.heard: list[object] = []
        self.states: list[states.State] = []
        self.keeper = Keeper(line.link, self.heard.append, line.ending)
        self.notebook = Notebook(home / "notebook.db")
        self.session = Session(PLAN, self.notebook, config, INSTANT, self._show, keeper=self.keeper)
        self.results: list[Result] = []
        self._thread = threading.Thread(target=lambda: self.results.append(self.session.go()))
        self._thread.start()

    def _show(self, run: states.Run, what: object) -> None:
        self.states.append(run.state)

    def until(self, state: states.State) -> None:
        _until(lambda: state in self.states)
        assert state in self.states

    def end(self) -> Result:
        self._thread.join(10)
        self.keeper.close()
        self.notebook.close()
        (result,) = self.results
        return result


@pytest.fixture
def names(monkeypatch: pytest.MonkeyPatch) -> None:
    count: Iterator[int] = iter(range(1, 100))
    monkeypatch.setattr("timer.notebook.rows.new_name", lambda: next(count))


def _session(home: Path, lines: list[Line], counts_per_s: float = 0.0) -> Result:
    config = Config(str(home), lamp="controller", port="/dev/none", counts_per_s=counts_per_s)
    with Dialogue([Hear(messages.Hello(), 1), Say(HELLO, 1), *lines]) as line:
        return Stage(home, line, config).end()


RUN_DARK = messages.Dark(1, 2_000_000, 1_000_000, 3_000_000, EndReason.COMPLETE, 0)
RUN_RECORD = messages.ExposureRecord(True, 1, 2_000_000, 1_000_000, 3_000_000, EndReason.COMPLETE, 0)


@pytest.mark.usefixtures("names")
@pytest.mark.parametrize("lost", ["nothing", "lit", "dark", "both"])
def test_a_light_whose_words_were_lost_is_settled_by_its_record(home: Path, lost: str) -> None:
    heard_lit, heard_dark = lost not in ("lit", "both"), lost not in ("dark", "both")
    asks: list[Line] = [Hear(messages.AskRecord(1), 3), Say(RUN_RECORD, 3)] if lost != "nothing" else []
    lines: list[Line] = [
        Hear(messages.Arm(1, 2_000_000, False, CUES), 2),
        Say(messages.Done(), 2),
        Say(messages.Lit(1, 1_000_000, 2_000_000, True), 1, times=int(heard_lit)),
        Say(RUN_DARK, 2, times=int(heard_dark)),
        *asks,
        Hear(messages.Halt(), 4 if asks else 3),
        Say(messages.Done(), 4 if asks else 3),
    ]
    result = _session(home, lines)
    assert result.state is states.State.FINISHED
    assert [(row.low_us, row.high_us, row.why) for row in result.exposures] == [(2_000_000, 2_000_000, "complete")]


@pytest.mark.usefixtures("names")
def test_a_dose_whose_end_was_lost_is_settled_with_its_counts(home: Path) -> None:
    lines: list[Line] = [
        Hear(messages.Dose(1, 200_000, 5_000_000, 10_000, False, CUES), 2),
        Say(messages.Done(), 2),
        Say(messages.Lit(1, 1_000_000, 5_000_000, True), 1),
        Say(messages.Dark(1, 5_000_000, 1_000_000, 3_100_000, EndReason.COMPLETE, 199_000), 2, times=0),
        Hear(messages.AskRecord(1), 3),
        Say(messages.ExposureRecord(True, 1, 5_000_000, 1_000_000, 3_100_000, EndReason.COMPLETE, 199_000), 3),
        Hear(messages.Halt(), 4),
        Say(messages.Done(), 4),
    ]
    result = _session(home, lines, counts_per_s=100_000)
    assert result.state is states.State.FINISHED
    assert result.exposures[0].dose_s == pytest.approx(1.99)


@pytest.mark.usefixtures("names")
def test_a_board_that_has_forgotten_the_light_it_told_of(home: Path) -> None:
    """Its power was away for a moment: it knows nothing, but it had said that it was lit. That is a range, and no zero."""
    lines: list[Line] = [
        Hear(messages.Arm(1, 2_000_000, False, CUES), 2),
        Say(messages.Done(), 2),
        Say(messages.Lit(1, 1_000_000, 2_000_000, True), 1),
        Say(messages.Pedal(messages.Press.DOWN, 5_000), 3),  # numbers begin anew, and one is missing
        Hear(messages.AskRecord(1), 3),
        Say(messages.ExposureRecord(False, 1, 0, 0, 0, 0, 0), 3),
        Hear(messages.Halt(), 4),  # as the run fails,
        Say(messages.Done(), 4),
        Hear(messages.Halt(), 5),  # and as it ends
        Say(messages.Done(), 5),
    ]
    result = _session(home, lines)
    assert result.state is states.State.FAILED
    assert "lost its power" in result.says
    (row,) = result.exposures
    assert (row.low_us, row.high_us, row.why) == (0, 2_000_000, "power_lost")
