"""The footswitch's rules in the firmware: the shared vectors on the simulated board, and its foot.c beside Python's rules."""

import ctypes
import subprocess
from functools import cache
from pathlib import Path

import pytest

from tests.hil.script import MHZ, MS, Script, Story
from tests.hil.sim import FIRMWARE, built
from tests.keeper.footswitch_vectors import EXPOSURE, Vector, by_chance, play, vectors
from timer.keeper.local import footswitch
from timer.keeper.wire import messages

QUIET_MS = 1_000
"""After power-up, before a vector begins."""
BEHIND_US = {"down": 30, "held": 1_500, "on": 700, "off": 1_500}
"""By how much later than the rules say: stamped in an interrupt, done by the main loop."""


@cache
def _clock_cycle() -> int:
    """At which cycle the board's clock stood at 0."""
    script = Script()
    script.say(20 * MS, messages.Arm(1, 10_000, True))
    story = script.run(60)
    (lit,) = story.of(messages.Lit)
    return round(story.lamp[0][0] - lit.at_us * MHZ)


def _came(story: Story, begin: int) -> list[tuple[int, str]]:
    """In µs after the cycle ``begin``."""
    out = [((cycle - begin) // MHZ, "on" if lit else "off") for cycle, lit in story.lamp]
    for event in story.of(messages.Pedal):
        what = "down" if event.press == messages.Press.DOWN else "held"
        out.append((event.at_us + (_clock_cycle() - begin) // MHZ, what))
    return sorted(out)


def _script(vector: Vector) -> Script:
    script = Script()
    if vector.start:
        script.foot(0, True)
    script.beats(QUIET_MS - 900, QUIET_MS + vector.ends_us / 1000)
    if vector.light or vector.armed:
        script.say((QUIET_MS - 50) * MS, messages.Arm(EXPOSURE, vector.light or vector.armed, bool(vector.light)))
    return script


@pytest.mark.parametrize("vector", vectors(), ids=lambda vector: vector.name)
def test_what_comes_of_it(vector: Vector) -> None:
    begin, until = QUIET_MS * MS, QUIET_MS + vector.ends_us / 1000
    if vector.light:  # its on-edge is the time 0; a run to the cycle the same tells where that is
        begin = _script(vector).run(QUIET_MS).lamp[0][0]
    script = _script(vector)
    for at, down in vector.foot:
        script.foot(begin + at * MHZ, down)
    came = [event for event in _came(script.run(until), begin) if event[0] > 0]
    assert [what for _, what in came] == [what for _, what in sorted(vector.comes)]
    for (at, what), (due, _) in zip(came, sorted(vector.comes), strict=True):
        assert -1 <= at - due <= BEHIND_US[what], (what, at, due)


@pytest.mark.parametrize("seed", range(6))
def test_a_foot_by_chance_is_the_same_to_both(seed: int, tmp_path: Path) -> None:
    vector = Vector("by chance", by_chance(seed, 150), ())
    begin = QUIET_MS * MS
    script = _script(vector)
    for at, down in vector.foot:
        script.foot(begin + at * MHZ, down)
    came = _came(script.run(QUIET_MS + vector.ends_us / 1000), begin)
    due = sorted(play(vector, tmp_path))
    assert [what for _, what in came] == [what for _, what in due]
    assert len(due) > 10
    for (at, what), (want, _) in zip(came, due, strict=True):
        assert -1 <= at - want <= BEHIND_US[what], (what, at, want)


def test_a_line_that_chatters_without_end_holds_nothing_up() -> None:
    """A contact that opens and closes every 10 µs: no press, and the light ends when it should."""
    script = Script()
    script.beats(10, 600)
    script.say(50 * MS, messages.Arm(1, 200_000, True))
    for n in range(40_000):
        script.foot(100 * MS + n * 10 * MHZ, n % 2 == 0)
    story = script.run(700)
    ((on, off),) = story.lights
    (dark,) = story.of(messages.Dark)
    assert (off - on) / MHZ == pytest.approx(200_000, abs=2)
    assert dark.off_us - dark.on_us == pytest.approx((off - on) / MHZ, abs=2)
    assert story.of(messages.Pedal) == []


# ── foot.c on this machine ───────────────────────────────────────────────────


@pytest.fixture(scope="module")
def foot(tmp_path_factory: pytest.TempPathFactory) -> ctypes.CDLL:
    built()  # for its word on what is missing
    library = tmp_path_factory.mktemp("foot") / "foot.so"
    subprocess.run(["gcc", "-O1", "-shared", "-fPIC", "-o", str(library), str(FIRMWARE / "foot.c")], check=True)
    loaded = ctypes.CDLL(str(library))
    for name in ("foot_start", "foot_edge"):
        getattr(loaded, name).argtypes = [ctypes.c_bool, ctypes.c_uint64]
    loaded.foot_blank.argtypes = loaded.foot_held.argtypes = [ctypes.c_uint64]
    loaded.foot_pressed.argtypes = [ctypes.c_uint64, ctypes.POINTER(ctypes.c_uint64)]
    loaded.foot_pressed.restype = loaded.foot_held.restype = ctypes.c_bool
    return loaded


@pytest.mark.parametrize("seed", range(200))
def test_foot_c_and_the_rules_in_python(foot: ctypes.CDLL, seed: int) -> None:
    """Edges, and edges of the lamp between them, to the microsecond."""
    begin = 1_000_000
    edges = by_chance(seed, 120)
    lamp = {edges[n][0] + n % 7 * 350 for n in range(0, len(edges), 5)}
    python = footswitch.start(False, begin)
    foot.foot_start(False, 2 * begin)
    theirs: list[tuple[int, str]] = []
    ours: list[tuple[int, str]] = []
    pressed_at = ctypes.c_uint64()
    moments = sorted({*(at for at, _ in edges), *lamp})
    levels = dict(edges)
    for at, after in zip(moments, [*moments[1:], moments[-1] + 2_000_000], strict=True):
        now = begin + at
        if at in levels:
            python = footswitch.edge(python, levels[at], now)
            foot.foot_edge(levels[at], 2 * now)
        if at in lamp:
            python = footswitch.blank(python, now)
            foot.foot_blank(2 * now)
        later = begin + after - 1
        press, hold = footswitch.press_due(python), footswitch.hold_due(python, 800_000)
        if press is not None and press <= later:
            theirs.append((press, "down"))
            python = footswitch.pressed(python)
        if hold is not None and hold <= later:
            theirs.append((hold, "held"))
            python = footswitch.held(python)
        if foot.foot_pressed(2 * later, ctypes.byref(pressed_at)):
            ours.append((pressed_at.value // 2, "down"))
        if hold is not None and hold <= later and foot.foot_held(2 * hold):
            ours.append((hold, "held"))
    assert ours == theirs
