"""What light an interrupted sheet had, for every way it can break."""

import time
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from timer.errors import LamphouseError, Refused
from timer.keeper.config import Config
from timer.keeper.host.client import Lost
from timer.keeper.local import memory as kept
from timer.keeper.local.memory import Memory, boot_name, recollect
from timer.keeper.wire import messages
from timer.notebook.light import Light
from timer.notebook.rows import ExposureRow, new_row
from timer.notebook.store import Notebook
from timer.plans.strip import strip_plan
from timer.run import evidence
from timer.run.resume import LightGiven, reconcile, record_lookup, rest, same_lamp

PLAN = strip_plan(8.0, Fraction(1, 3), 3, "cover")
S = 1_000_000_000


class Broken:
    """A notebook with one exposure begun and not ended, and where a keeper's memory of it would be."""

    def __init__(self, folder: Path, *, slow_lamp: bool = False) -> None:
        folder.mkdir(exist_ok=True)
        self.notebook = Notebook(folder / "n.db")
        self.path = folder / "memory"
        self.memories: list[Memory] = []
        response = (0.1, 0.15, 0.2, 2.0) if slow_lamp else (0.0, 0.0, 0.0, 0.0)
        self.run = self.notebook.begin_run(PLAN, lamp="simulated", lamp_at=str(self.path), response=response)
        self.row = new_row(self.run, 0, 1, "patches 1 to 3", 8.0, 8_000_000)
        self.notebook.intend(self.row)
        self.name = self.row.name

    def had(self) -> list[LightGiven]:
        with record_lookup(self.notebook, self.notebook.run(self.run), Config("")) as look_up:
            return reconcile(self.notebook, self.notebook.run(self.run), look_up)

    def rest(self, share: float | None = None) -> float:
        """Full-light seconds that the first step of the rest asks for."""
        with record_lookup(self.notebook, self.notebook.run(self.run), Config("")) as look_up:
            plan, _ = rest(self.notebook, self.notebook.run(self.run), look_up, share=share)
        return plan.steps[1].seconds

    def booked(self) -> ExposureRow:
        (row,) = self.notebook.exposures(self.run)
        return row

    def other_boot(self) -> None:
        """As if the machine had been off since."""
        self.notebook._db.execute("UPDATE exposure SET boot = ?", (b"another boot....",))

    def memory(self) -> Memory:
        """A keeper's memory as it begins; closed with all the rest."""
        self.memories.append(Memory(self.path))
        return self.memories[-1]

    def close(self) -> None:
        for memory in self.memories:
            memory.close()
        self.notebook.close()

    def lit(self, at: int, speed_permille: int = 1000) -> Memory:
        memory = self.memory()
        memory.begin(self.name, 8_000_000, at, speed_permille)
        memory.shine(at + 8 * S, at)
        memory.lit(at)
        return memory


@pytest.fixture
def broken(tmp_path: Path) -> Iterator[Broken]:
    made = Broken(tmp_path)
    yield made
    made.close()


def test_the_keeper_outlived_the_app(broken: Broken) -> None:
    broken.lit(10 * S).dark(13 * S, messages.EndReason.LINK_CLOSED, 0)
    assert broken.had() == [LightGiven(1, 3.0, 3.0)]
    assert broken.rest() == pytest.approx(5.0)


def test_a_killed_keeper_gave_from_its_last_stamp_to_the_guards_word(broken: Broken) -> None:
    on = time.monotonic_ns() - 2 * S
    memory = broken.lit(on)
    memory.alive(on + S, exposing=True)
    kept.prove(memory.words, kept.BY_GUARD)
    proven = time.monotonic_ns()
    (had,) = broken.had()
    assert had.low == 1.0
    assert had.high is not None
    assert 2.0 <= had.high <= (proven - on) / S
    assert broken.booked().why == "keeper_lost"


def test_a_range_is_not_cut_at_what_was_ordered(broken: Broken) -> None:
    """Frozen in its light with nobody there to end it: what came after the order is told too."""
    on = time.monotonic_ns() - 20 * S
    memory = broken.lit(on)
    memory.alive(on + S, exposing=True)
    kept.prove(memory.words, kept.BY_NEXT)
    proven = time.monotonic_ns()
    (had,) = broken.had()
    assert had.low == 1.0
    assert had.high is not None
    assert 20.0 <= had.high <= (proven - on) / S


def test_an_end_that_nobody_saw_is_open_and_asks(broken: Broken) -> None:
    memory = broken.lit(10 * S)
    memory.alive(12 * S, exposing=True)
    assert broken.had() == [LightGiven(1, 2.0, None)]
    for share in (None, 0.5, 1.0):
        with pytest.raises(LamphouseError, match="nobody saw"):
            broken.rest(share)
    assert broken.rest(0.0) == pytest.approx(6.0)
    kept.prove(memory.words, kept.BY_NEXT)  # the next keeper starts, and then it is known when it was dark
    (had,) = broken.had()
    assert had.high is not None


def test_killed_between_intent_and_edge(broken: Broken) -> None:
    broken.memory()  # a keeper ran, from before the intent was noted
    broken.notebook._db.execute("UPDATE exposure SET noted_ns = ?", (time.monotonic_ns(),))
    assert broken.had() == [LightGiven(1, 0.0, 0.0)]
    assert broken.booked().why == "not_lit"
    assert not broken.booked().lit


def test_a_memory_that_is_gone_proves_nothing(broken: Broken) -> None:
    assert broken.had() == [LightGiven(1, 0.0, None)]


def test_a_memory_that_was_begun_after_the_intent_proves_nothing(broken: Broken) -> None:
    broken.memory()
    assert broken.had() == [LightGiven(1, 0.0, None)]


def test_a_memory_that_has_been_written_over_proves_nothing(broken: Broken) -> None:
    memory = broken.memory()
    memory.words[kept.CREATED] = 1
    for n in range(kept.SLOTS + 1):
        memory.begin(n + 1, 1000, time.monotonic_ns(), 1000)
    assert broken.had() == [LightGiven(1, 0.0, None)]


def test_killed_around_the_on_edge(broken: Broken) -> None:
    memory = broken.memory()
    memory.begin(broken.name, 8_000_000, time.monotonic_ns(), 1000)
    kept.prove(memory.words, kept.BY_GUARD)
    (had,) = broken.had()
    assert had.low == 0.0
    assert had.high is not None
    assert 0.0 < had.high <= 0.1


def test_the_power_went(broken: Broken) -> None:
    broken.notebook.progress(broken.run, 0, 3_000_000)
    broken.other_boot()
    (had,) = broken.had()
    assert (had.low, had.high) == (3.0, 8.06)  # to its own end, or the moment in which its guard would have ended it
    with pytest.raises(LamphouseError, match=r"between 3\.00 and 8\.06 s .* --assume"):
        broken.rest()
    assert broken.rest(0.0) == pytest.approx(5.0)


def test_the_app_was_killed_after_the_light_and_before_the_fact(broken: Broken) -> None:
    broken.lit(10 * S).dark(18 * S + 3000, messages.EndReason.COMPLETE, 0)
    assert broken.had() == [LightGiven(1, 8.000003, 8.000003, done=True)]
    with record_lookup(broken.notebook, broken.notebook.run(broken.run), Config("")) as look_up:
        plan, _ = rest(broken.notebook, broken.notebook.run(broken.run), look_up)
    assert [step.area for step in plan.steps if step.do == "expose"] == ["patches 2 to 3", "patch 3"]


def test_too_much_light_is_told_and_nothing_more_is_given_for_it(broken: Broken) -> None:
    broken.lit(10 * S).dark(23 * S, messages.EndReason.COMPLETE, 0)
    assert broken.had() == [LightGiven(1, 13.0, 13.0, done=True, late=True)]
    assert broken.booked().why == "late"


def test_a_warm_lamp_that_was_given_less_gave_all(tmp_path: Path) -> None:
    """0.2 s less of lamp-on time from a lamp that was warm is the full light all the same."""
    broken = Broken(tmp_path, slow_lamp=True)
    memory = broken.memory()
    memory.begin(broken.name, 7_800_000, 10 * S, 1000)
    memory.lit(10 * S)
    memory.dark(10 * S + 3_800_000_000, messages.EndReason.HALTED, 200_000)
    (had,) = broken.had()
    assert had.low == had.high == pytest.approx(3.8 + 0.2 - 0.25, abs=1e-6)  # a cold lamp loses 0.25 s of 4.0 s
    assert broken.booked().cut_us == 200_000
    broken.close()


def test_a_time_lapse_is_counted_in_its_own_seconds(broken: Broken) -> None:
    broken.lit(10 * S, 20_000).dark(10 * S + S // 10, messages.EndReason.LINK_CLOSED, 0)
    assert broken.had() == [LightGiven(1, 2.0, 2.0)]


@pytest.mark.parametrize(
    ("speed", "over_us", "why"),
    [(1, 20_000, "complete"), (1, 20_001, "late"), (200, 4_000_000, "complete"), (200, 4_000_001, "late")],
)
def test_late_is_judged_in_time_as_it_passes(speed: int, over_us: int, why: str) -> None:
    """20 ms of the machine's time, also in a time-lapse; what was given is told to the microsecond all the same."""
    dark = messages.Dark(1, 5_000_000, 100, 5_000_100 + over_us, messages.EndReason.COMPLETE, 0)
    light = evidence.from_dark(dark, 5_000_000, speed * 1000)
    assert (light.why, light.low_us) == (why, 5_000_000 + over_us)


def test_reconciling_twice_says_the_same(broken: Broken) -> None:
    memory = broken.lit(time.monotonic_ns() - S)
    kept.prove(memory.words, kept.BY_GUARD)
    assert broken.had() == broken.had()
    assert len(boot_name()) == 16


def test_another_memory_with_the_same_run_number_is_not_taken_for_it(broken: Broken, tmp_path: Path) -> None:
    """After a restore run numbers come again; names do not."""
    memory = broken.memory()
    memory.begin(broken.name + 1, 700_000, 10 * S, 1000)
    memory.lit(10 * S)
    memory.dark(10 * S + S * 7 // 10, messages.EndReason.HALTED, 0)
    (had,) = broken.had()
    assert had.low == 0.0
    again = Broken(tmp_path / "restored")
    assert again.name != broken.name
    again.close()


def test_the_rest_comes_from_the_same_lamp(broken: Broken) -> None:
    row = replace(broken.notebook.run(broken.run), lamp="gpio", lamp_at="/run/lamphouse/gpio-17.memory")
    same_lamp(row, Config("", lamp="gpio", lamp_pin=17))
    with pytest.raises(Refused, match="made on the lamp 'gpio'"):
        same_lamp(row, Config(""))
    with pytest.raises(Refused, match="GPIO pin 17"):
        same_lamp(row, Config("", lamp="gpio", lamp_pin=22))


# ── a controller that is not heard ───────────────────────────────────────────


ROW = new_row(1, 0, 1, "base", 8.0, 8_000_000)
UP = {"up_since_noted": True}


def test_a_mute_controllers_light_is_from_its_last_word_to_its_own_silence() -> None:
    lit_us = 1_000_000
    lost = Lost("", heard_us=1_400_000, lit=True, silent_us=2_000_000)
    light = evidence.of_unheard(lost, lit_us, ROW)
    assert light == Light(400_000, 1_000_000 + evidence.SILENCE_US + evidence.DRIFT_US, "unheard")
    near_its_end = evidence.of_unheard(replace(lost, silent_us=9_000_000), lit_us, ROW)
    assert near_its_end.high_us == 8_000_000


def test_a_mute_controller_may_have_been_lit_by_the_foot() -> None:
    assert evidence.of_unheard(Lost("", heard_us=5, silent_us=9), 0, ROW) == Light(0, 8_000_000, "unheard")


def test_a_controller_that_is_heard_again_settles_it() -> None:
    record = messages.ExposureRecord(True, ROW.name, 8_000_000, 1_000_000, 1_950_000, messages.EndReason.HOST_SILENT, 0)
    assert evidence.of_record(record, ROW, **UP) == Light(950_000, 950_000, "host_silent", 0, 0)
    nothing = messages.ExposureRecord(False, ROW.name, 0, 0, 0, 0, 0)
    assert evidence.of_record(nothing, ROW, **UP) == Light(0, 0, "not_lit")
    without_power = evidence.of_record(nothing, ROW, up_since_noted=False)
    assert without_power == Light(0, 8_000_000, "power_lost")
    seen = replace(ROW, lit=True, seen_us=3_000_000)
    assert evidence.of_record(nothing, seen, **UP) == Light(3_000_000, 8_000_000, "power_lost")


def test_what_was_known_of_a_mute_controllers_light_is_not_forgotten_when_another_knows_nothing_of_it() -> None:
    """By its last words and its own silence it had 0.35 to 1.45 s; a board in its place, or one without power, tells no more."""
    row = replace(ROW, lit=True, seen_us=150_000, low_us=350_000, high_us=1_450_000, why="unheard")
    nothing = messages.ExposureRecord(False, ROW.name, 0, 0, 0, 0, 0)
    assert evidence.of_record(nothing, row, **UP) == Light(350_000, 1_450_000, "power_lost")


@pytest.mark.parametrize("since", ["the same boot", "a restart"])
def test_light_whose_end_nobody_saw_stays_open(since: str) -> None:
    """Its keeper and guard were lost with the machine running, and its line may have stayed high: a restart ends that range
    no sooner than itself."""
    boot = ROW.boot if since == "the same boot" else bytes(16)
    row = replace(ROW, boot=boot, lit=True, seen_us=150_000, low_us=350_000, high_us=None, why="unseen")
    assert evidence.of_lost_local(None, row.name, row) == Light(350_000, None, "unseen")


def test_recollecting_a_file_that_is_none(tmp_path: Path) -> None:
    assert recollect(tmp_path / "none") is None
    (tmp_path / "short").write_bytes(b"x")
    assert recollect(tmp_path / "short") is None


def test_what_may_have_been_lit_is_found_never_to_have_been(broken: Broken) -> None:
    """Armed when its controller fell silent: a range, until the board is heard again and knows nothing of it."""
    broken.notebook.fact(broken.run, 0, 0, 8_000_000, "unheard")
    assert not broken.booked().lit
    look_up = lambda row: evidence.of_record(messages.ExposureRecord(False, row.name, 0, 0, 0, 0, 0), row, **UP)  # noqa: E731
    assert reconcile(broken.notebook, broken.notebook.run(broken.run), look_up) == [LightGiven(1, 0.0, 0.0)]


# ── nothing is missing ───────────────────────────────────────────────────────


def _given(broken: Broken, *seconds: float, why: str = "complete") -> None:
    """Every patch was given, and its program died before it could say so."""
    for number, given in enumerate(seconds):
        step = 2 * number + 1
        if number:
            broken.notebook.intend(new_row(broken.run, number, step, "patch", PLAN.steps[step].seconds, round(given * 1e6)))
        broken.notebook.fact(broken.run, number, round(given * 1e6), round(given * 1e6), why)
    broken.notebook.end_run(broken.run, "failed", "the controller is not heard any more")


SECONDS = tuple(step.seconds for step in PLAN.steps if step.do == "expose")


def test_a_sheet_that_turns_out_to_have_had_all_is_finished(broken: Broken) -> None:
    """Nothing is left to give: it would be offered for ever, and refused each time."""
    _given(broken, *SECONDS)
    assert broken.notebook.unfinished()
    with pytest.raises(LamphouseError, match="lacks nothing: every exposure was given in full"):
        broken.rest()
    assert broken.notebook.run(broken.run).state == "finished"
    assert not broken.notebook.unfinished()


def test_a_sheet_that_had_too_much_is_never_finished(broken: Broken) -> None:
    _given(broken, *SECONDS[:-1], SECONDS[-1] + 0.5, why="complete")
    broken.notebook.fact(broken.run, len(SECONDS) - 1, 5_000_000, 5_000_000, "late")
    with pytest.raises(LamphouseError, match=r"lacks nothing, but .* too much light: .* --forget"):
        broken.rest()
    assert broken.notebook.run(broken.run).state == "failed"


def test_a_sheet_that_had_all_only_if_that_is_assumed_is_not_finished(broken: Broken) -> None:
    _given(broken, *SECONDS)
    last, us = len(SECONDS) - 1, round(SECONDS[-1] * 1e6)
    broken.notebook.fact(broken.run, last, us // 2, us, "power_lost")
    with pytest.raises(LamphouseError, match="if that is so"):
        broken.rest(1.0)
    assert broken.notebook.run(broken.run).state == "failed"
    assert broken.rest(0.5) > 0
