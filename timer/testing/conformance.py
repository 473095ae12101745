"""What every keeper and board must do, whatever lamp it switches; each test takes a ``rig``, a fixture of the author's.

In a test file of a board's own package (docs/boards.md has a whole one)::

    from timer.testing.conformance import *
"""

import itertools
import secrets
import time
from collections.abc import Iterator
from typing import Any, Protocol

import pytest

from timer.errors import Refused
from timer.keeper.host.client import Heard, Keeper
from timer.keeper.wire import messages

TOLERANCE_US = 5_000  # a test machine without real-time rights; timing is judged by measurement
NAMES: Iterator[int] = (secrets.randbits(62) + 1 for _ in itertools.count())  # a lamp's memory outlives a test


class Seen(Protocol):
    """An observer of the lamp that is not the keeper: a wire, a photodiode, a pin read back."""

    edges: Any

    @property
    def lit(self) -> bool:
        """Whether the lamp is on now."""

    def wait(self, lit: bool, seconds: float = 10.0, *, more_than: int = 0) -> Any:
        """The last edge (its ``on``), once the lamp is ``lit`` or not and there are more than so many edges."""

    def exposures_ns(self) -> list[int]:
        """How long each light lasted."""

    def tell(self, line: str) -> None:
        """P1 and P0: the footswitch closed, and opened."""


class Rig(Protocol):
    """A running keeper, what it said, and what was seen of its lamp."""

    keeper: Keeper
    witness: Seen
    heard: list[Heard]

    def heard_of(self, kind: type, seconds: float = 5.0) -> list[Heard]:
        """All of ``kind`` that was heard, once there is one."""

    def given_us(self, name: int) -> int:
        """What the keeper remembers of exposure ``name`` after its host has gone."""


def test_dark_at_the_start(rig: Rig) -> None:
    assert rig.keeper.hello.protocol == messages.PROTOCOL
    assert not rig.witness.lit


def test_both_edges(rig: Rig) -> None:
    name = next(NAMES)
    rig.keeper.expose(name, 150_000, now=True)
    (dark,) = rig.heard_of(messages.Dark)
    assert isinstance(dark, messages.Dark)
    rig.witness.wait(False, more_than=1)
    (seen,) = rig.witness.exposures_ns()
    assert seen / 1000 == pytest.approx(150_000, abs=TOLERANCE_US)
    assert dark.off_us - dark.on_us == pytest.approx(seen / 1000, abs=TOLERANCE_US)
    assert (dark.exposure, dark.ordered_us, dark.why) == (name, 150_000, messages.EndReason.COMPLETE)


def test_cues_come_with_the_light(rig: Rig) -> None:
    rig.keeper.expose(next(NAMES), 400_000, ((100_000, messages.Cue.WARN), (200_000, messages.Cue.CHANGE)), now=True)
    rig.heard_of(messages.Dark)
    cues = [(c.at_us, c.cue) for c in rig.heard if isinstance(c, messages.CueEvent)]
    assert cues == [(100_000, messages.Cue.WARN), (200_000, messages.Cue.CHANGE)]


def test_halt(rig: Rig) -> None:
    rig.keeper.expose(next(NAMES), 5_000_000, now=True)
    rig.witness.wait(True)
    rig.keeper.halt()
    assert not rig.witness.wait(False).on
    (dark,) = rig.heard_of(messages.Dark)
    assert isinstance(dark, messages.Dark)
    assert dark.why == messages.EndReason.HALTED


def test_the_footswitch_fires_what_is_armed(rig: Rig) -> None:
    rig.keeper.expose(next(NAMES), 100_000, now=False)
    assert not rig.witness.lit
    rig.witness.tell("P1")
    rig.witness.wait(True)
    (lit,) = rig.heard_of(messages.Lit)
    assert isinstance(lit, messages.Lit)
    assert lit.by_pedal
    rig.witness.wait(False)
    rig.witness.tell("P0")


def test_a_long_press_is_dark(rig: Rig) -> None:
    rig.keeper.expose(next(NAMES), 9_000_000, now=True)
    rig.witness.wait(True)
    time.sleep(0.15)  # what a cable picks up of the lamp's own edge is no press
    rig.witness.tell("P1")
    rig.witness.wait(False, 3)
    assert next(p.press for p in rig.heard_of(messages.Pedal) if isinstance(p, messages.Pedal)) == messages.Press.DOWN


def test_refusals(rig: Rig) -> None:
    with pytest.raises(Refused, match="120 s"):
        rig.keeper.expose(next(NAMES), 120_000_001, now=True)
    name = next(NAMES)
    rig.keeper.expose(name, 1000, now=True)
    rig.heard_of(messages.Dark)
    with pytest.raises(Refused, match="twice"):
        rig.keeper.expose(name, 1000, now=True)
    rig.keeper.focus_light(10)
    with pytest.raises(Refused, match="in use"):
        rig.keeper.expose(next(NAMES), 1000, now=True)


def test_tally(rig: Rig) -> None:
    name = next(NAMES)
    rig.keeper.expose(name, 30_000, now=True)
    rig.heard_of(messages.Dark)
    tally = rig.keeper.record(name)
    assert tally.known
    assert tally.off_us - tally.on_us == pytest.approx(30_000, abs=TOLERANCE_US)
    assert not rig.keeper.record(name + 1).known


def test_focus_light_ends(rig: Rig) -> None:
    rig.keeper.focus_light(0.15)
    rig.witness.wait(True)
    rig.witness.wait(False, 2)
    rig.keeper.focus_light(5)
    rig.keeper.focus_light(0)
    assert not rig.witness.wait(False, more_than=3).on


def test_a_closed_link_is_dark_and_remembered(rig: Rig) -> None:
    name = next(NAMES)
    rig.keeper.expose(name, 9_000_000, now=True)
    rig.witness.wait(True)
    rig.keeper.close()
    rig.witness.wait(False, 2)
    (seen,) = rig.witness.exposures_ns()
    assert rig.given_us(name) == pytest.approx(seen / 1000, abs=TOLERANCE_US)
