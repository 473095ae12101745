"""The footswitch, driven from outside the machine, contact by contact."""

import time
from collections.abc import Iterable, Iterator, Sequence

from tests.emulated.cases import attempt
from tests.emulated.rig import HOME, Rig
from tests.emulated.table import Row

PRESS_BAR_MS = 100
HOLD_S = 0.8
HOLD_BAR_MS = HOLD_S * 1000 + 250
BOUNCE_S = 0.002
AGAIN_S = 0.031
GLITCHES, GLITCH_MS = 10, 0.6

Contact = Sequence[tuple[bool, float]]
"""Closed or open, and for how many seconds."""
PRESS: Contact = ((True, 0.15), (False, 0.0))
CHATTER = tuple((n % 2 == 0, BOUNCE_S) for n in range(12))


def pedal(rig: Rig) -> Iterator[Row]:
    yield from bounces(rig)
    yield from attempt(rig, "two presses", _two)
    yield from attempt(rig, "held in the light", _held)
    yield from attempt(rig, "again after 31 ms", _again)
    yield from attempt(rig, "glitches", _glitches)
    yield from attempt(rig, "closed from the start", _closed)


def bounces(rig: Rig) -> Iterator[Row]:
    yield from attempt(rig, "12 bounces", _bounces)


def _armed(rig: Rig, seconds: float, patches: int = 1) -> float:
    """An app that waits for the foot; the moment from which lights count."""
    rig.drive(rig.model.footswitch, True)
    rig.fresh(footswitch=True)
    rig.recipe(seconds)
    strip = f"lamphouse strip --from {seconds} --step 1 --patches {patches} --way window"
    rig.guest.start("app", f"lamphouse print {HOME}/one.toml" if patches == 1 else strip)
    rig.said("app", "ready", 40)
    time.sleep(0.3)
    return time.time()


def _foot(rig: Rig, contact: Contact) -> float:
    """Move the contact; when the first movement was."""
    first = 0.0
    due = time.time()
    for closed, seconds in contact:
        time.sleep(max(0.0, due - time.time()))
        at = rig.drive(rig.model.footswitch, not closed)
        first = first or at
        due = at + seconds
    return first


def _two(rig: Rig) -> Iterable[Row]:
    since = _armed(rig, 0.5, patches=2)
    waits = []
    for _ in range(2):
        at = _foot(rig, PRESS)
        edge = rig.witness.wait(rig.lamp, True, at, 2)
        waits.append((edge.at - at) * 1000 if edge else None)
        time.sleep(2.5)
    lights = rig.lights(since)
    yield rig.row("two presses are two lights", len(lights) == 2, f"{[round(s, 3) for s in lights]} s")
    late = max((w for w in waits if w is not None), default=None) if None not in waits else None
    yield rig.row_ms("from the press to the light", late, PRESS_BAR_MS)


def _bounces(rig: Rig) -> Iterable[Row]:
    since = _armed(rig, 0.5, patches=2)
    _foot(rig, (*CHATTER, (True, 0.2), *CHATTER, (False, 0.0)))
    time.sleep(2)
    lights = rig.lights(since)
    yield rig.row("12 bounces at each end are one light", len(lights) == 1, f"{len(lights)} lights")


def _held(rig: Rig) -> Iterable[Row]:
    since = _armed(rig, 6.0)
    _foot(rig, PRESS)
    lit = rig.witness.wait(rig.lamp, True, since, 2)
    time.sleep(1.0)
    at = _foot(rig, ((True, 1.5), (False, 0.0)))
    yield rig.row_ms("held in the light is dark", rig.dark_ms(at, 2) if lit else None, HOLD_BAR_MS)
    time.sleep(1)
    lights = rig.lights(since)
    yield rig.row("held in the light: no other light", len(lights) == 1, f"{len(lights)} lights")


def _again(rig: Rig) -> Iterable[Row]:
    since = _armed(rig, 0.4, patches=2)
    _foot(rig, ((True, 1.5), (False, AGAIN_S), (True, 0.15), (False, 0.0)))
    time.sleep(2)
    lights = rig.lights(since)
    yield rig.row("31 ms after the release is no press", len(lights) == 1, f"{len(lights)} lights")


def _glitches(rig: Rig) -> Iterable[Row]:
    since = _armed(rig, 0.5)
    lengths = []
    for _ in range(GLITCHES):
        at = rig.drive(rig.model.footswitch, False)
        rig.drive(rig.model.footswitch, True)
        lengths.append((rig.now() - at) * 1000)
        time.sleep(0.4)
    lights = [begin for begin, _ in rig.witness.lights(rig.lamp, since)]
    figure = f"{len(lights)} lights of {GLITCHES} closures of {min(lengths):.2f} to {max(lengths):.2f} ms"
    if max(lengths) > GLITCH_MS:  # this machine was too busy to make them short
        figure += ", some too long to be glitches"
    yield rig.row("glitches are no press", not lights or max(lengths) > GLITCH_MS, figure)


def _closed(rig: Rig) -> Iterable[Row]:
    rig.drive(rig.model.footswitch, False)
    rig.fresh(footswitch=True)
    rig.recipe(0.5)
    since = time.time()
    rig.guest.start("app", f"lamphouse print {HOME}/one.toml")
    rig.said("app", "ready", 40)
    time.sleep(2)
    before = len(rig.lights(since))
    rig.drive(rig.model.footswitch, True)
    time.sleep(0.5)
    _foot(rig, PRESS)
    time.sleep(1.5)
    after = len(rig.lights(since))
    yield rig.row(
        "closed from the start is no press, the next is", before == 0 and after == 1, f"{before}, then {after} lights"
    )
