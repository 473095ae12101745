"""Warm lamps: the firmware's integers against the formula in docs/protocol.md, and what a board gives that has rested."""

import ctypes
import math
import random
import subprocess

import pytest

from tests.hil.script import MHZ, MS, Script
from tests.hil.sim import FIRMWARE, built
from timer.keeper.local.warmth import MAX_LESS_US, MAX_RECOVERY_US, cut_us
from timer.keeper.wire import messages

LESS_US, RECOVERY_US = 249_000, 2_240_000  # a 24 V 250 W halogen lamp, as in docs/method.md


def formula(less_us: int, recovery_us: int, rested_us: float) -> float:
    x = max(rested_us, 200_000) / recovery_us
    return less_us * math.exp(-x) / math.sqrt(1 + 64 * x)


@pytest.fixture(scope="module")
def warm_cut(tmp_path_factory: pytest.TempPathFactory) -> "ctypes._NamedFuncPointer":
    """The firmware's own function, compiled for this machine."""
    built()  # for its word on what is missing
    library = tmp_path_factory.mktemp("warm") / "warm.so"
    subprocess.run(["gcc", "-O1", "-shared", "-fPIC", "-o", str(library), str(FIRMWARE / "warm.c")], check=True)
    function = ctypes.CDLL(str(library)).warm_cut
    function.argtypes, function.restype = [ctypes.c_uint32, ctypes.c_uint32, ctypes.c_uint64], ctypes.c_uint32
    return function


@pytest.mark.parametrize(("most_less_us", "within_us"), [(250_000, 60), (MAX_LESS_US, 200)])
def test_integers_against_the_formula(warm_cut: "ctypes._NamedFuncPointer", most_less_us: int, within_us: int) -> None:
    chance = random.Random(1)
    for _ in range(100_000):
        less = chance.randint(0, most_less_us)
        recovery = round(math.exp(chance.uniform(0, math.log(MAX_RECOVERY_US))))
        rested = round(math.exp(chance.uniform(math.log(1_000), math.log(600e6))))
        assert abs(warm_cut(less, recovery, 2 * rested) - formula(less, recovery, rested)) <= within_us


def test_the_ends_of_its_range(warm_cut: "ctypes._NamedFuncPointer") -> None:
    assert warm_cut(0, RECOVERY_US, 2_000_000) == 0
    assert warm_cut(LESS_US, 0, 2_000_000) == 0
    assert warm_cut(MAX_LESS_US, MAX_RECOVERY_US, 2**63) == 0
    assert warm_cut(LESS_US, RECOVERY_US, 0) == warm_cut(LESS_US, RECOVERY_US, 400_000)
    assert warm_cut(MAX_LESS_US, MAX_RECOVERY_US, 0) == pytest.approx(formula(MAX_LESS_US, MAX_RECOVERY_US, 0), abs=200)


@pytest.mark.parametrize("rested_ms", [150, 350, 1_000, 4_000])
@pytest.mark.parametrize("before", ["exposure", "focus", "broken off", "short"])
def test_a_lamp_that_was_on_is_given_less(before: str, rested_ms: int) -> None:
    """Light of any kind warms it; from the pin's edges, by the formula in Python; by a press and at once the same."""
    script = Script()
    script.beats(10, rested_ms + 3_000)
    match before:
        case "exposure":
            script.say(50 * MS, messages.Arm(1, 900_000, True))
        case "focus":
            script.say(50 * MS, messages.FocusLight(900_000))
        case "broken off":
            script.say(50 * MS, messages.Arm(1, 60_000_000, True))
            script.say(950 * MS, messages.Halt())
        case "short":  # too short to have heated it through
            script.say(940 * MS, messages.Arm(1, 20_000, True))
    script.say((1_000 + rested_ms - 60) * MS, messages.Arm(2, 700_000, False, (), LESS_US, RECOVERY_US))
    script.foot((950 + rested_ms) * MS, True)
    story = script.run(rested_ms + 3_000)
    (on, off), (again, end) = story.lights
    lit, dark = story.of(messages.Lit)[-1], story.of(messages.Dark)[-1]
    cut = cut_us(LESS_US, RECOVERY_US, (again - off) // MHZ, (off - on) // MHZ, 0)
    assert 700_000 - lit.ordered_us == pytest.approx(cut, abs=100)
    assert cut > 0
    if before == "short" and rested_ms < 1_000:
        assert cut == pytest.approx(20_000, abs=2)
    assert (end - again) / MHZ == pytest.approx(lit.ordered_us, abs=2)
    assert dark.ordered_us == lit.ordered_us


def test_bursts_one_after_another() -> None:
    """No filament is warmer than its heating: what a burst was itself cut by counts as heating."""
    script = Script()
    script.beats(10, 4_000)
    for n in range(8):
        script.say((50 + 450 * n) * MS, messages.Arm(n + 1, 300_000, True, (), 290_000, 30_000_000))
    story = script.run(4_000)
    story.assert_true()
    last: tuple[int, int, int] | None = None  # off, lasted, cut
    for (on, off), dark in zip(story.lights, story.of(messages.Dark), strict=True):
        cut = cut_us(290_000, 30_000_000, (on - last[0]) // MHZ, *last[1:]) if last else 0
        assert 300_000 - dark.ordered_us == pytest.approx(cut, abs=200)
        last = (off, (off - on) // MHZ, 300_000 - dark.ordered_us)


def test_nothing_known_before_is_a_cold_lamp() -> None:
    script = Script()
    script.say(50 * MS, messages.Arm(1, 300_000, True, (), LESS_US, RECOVERY_US))
    assert script.run(500).of(messages.Dark)[0].ordered_us == 300_000


def test_the_shortest_light_ends_when_it_should_all_the_same() -> None:
    """What is left after the cut may be shorter than the reckoning of it: the record has what the pin did."""
    script = Script()
    script.beats(10, 1_000)
    script.say(50 * MS, messages.FocusLight(500_000))
    for n, on_us in enumerate((300, 1_000, 3_000)):
        script.say((600 + 100 * n) * MS, messages.Arm(n + 1, on_us, True, (), on_us - 1, 30_000_000))
    story = script.run(1_000)
    lights = story.lights[1:]
    for (on, off), dark in zip(lights, story.of(messages.Dark), strict=True):
        assert dark.off_us - dark.on_us == pytest.approx((off - on) / MHZ, abs=2)
        assert (off - on) / MHZ <= max(dark.ordered_us + 2, 600)


@pytest.mark.parametrize(
    ("less", "recovery", "on"),
    [(MAX_LESS_US + 1, 1_000_000, 2_000_000), (1_000, MAX_RECOVERY_US + 1, 2_000_000), (2_000, 1_000_000, 2_000)],
)
def test_what_cannot_be_is_refused(less: int, recovery: int, on: int) -> None:
    script = Script()
    script.say(50 * MS, messages.Arm(1, on, True, (), less, recovery))
    story = script.run(100)
    assert [no.reason for no in story.of(messages.Refusal)] == [messages.RefusalReason.BAD_BODY]
    assert story.lamp == []
