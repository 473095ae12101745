"""App, keeper, guard and each pair of them, killed, stopped and hanging, lit by an exposure and by the focus light."""

from collections.abc import Iterable, Iterator
from itertools import combinations

from tests.emulated.cases import attempt
from tests.emulated.rig import FEW_MS, Lit, Rig
from tests.emulated.table import Row

PROCESSES = ("app", "keeper", "guard")
VICTIMS = tuple((name,) for name in PROCESSES) + tuple(combinations(PROCESSES, 2))
KILL_BAR_MS, STOP_BAR_MS = 250, 1000
LIGHT_S = 6.0
SHORT_S = 2.5
"""Of a light that is expected to end as ordered, whatever is sent."""
LIT_FOR_S = 0.7
WATCH_S = 2.5
KILLS, HANGS = ("KILL", "TERM", "HUP"), "hangs"
IGNORED = frozenset({("guard", "TERM"), ("guard", "HUP")})
"""The guard ends with its keeper and never before it."""


def kills(rig: Rig) -> Iterator[Row]:
    for focus in (False, True):
        for signal in (*KILLS, "STOP"):
            for names in VICTIMS:
                yield from one(rig, names, signal, focus=focus)

    for names in VICTIMS:
        yield from one(rig, names, HANGS, focus=False)


def few_kills(rig: Rig) -> Iterator[Row]:
    """What has once failed, and what is nearest to its bar."""
    for names, signal in (
        (("keeper",), "KILL"),
        (("app", "keeper"), "KILL"),
        (("keeper", "guard"), "KILL"),
        (("keeper",), "STOP"),
        (("app",), "STOP"),
        (("keeper", "guard"), "STOP"),
        (("keeper",), HANGS),
    ):
        yield from one(rig, names, signal, focus=False)


def one(rig: Rig, names: tuple[str, ...], signal: str, *, focus: bool) -> Iterator[Row]:
    what = f"{' and '.join(names)} {signal}, {'focus light' if focus else 'exposing'}"
    yield from attempt(rig, what, _one, what, names, signal, focus=focus)


def _one(rig: Rig, what: str, names: tuple[str, ...], signal: str, *, focus: bool) -> Iterable[Row]:
    rig.fresh()
    heard = [name for name in names if (name, signal) not in IGNORED]
    lit = rig.light(LIGHT_S if heard else SHORT_S, focus=focus)
    rig.until(lit.at + LIT_FOR_S)
    hit = lit.processes(names)
    at = rig.freeze(hit) if signal == HANGS else rig.hit(hit, signal)
    if not heard:
        rig.witness.wait(rig.lamp, False, at, WATCH_S + SHORT_S)
        seen = rig.lights(lit.at)[0]
        yield rig.row(what, abs(seen - SHORT_S) * 1000 < FEW_MS, f"as ordered, {seen:.3f} s")
    else:
        yield rig.row_ms(what, rig.dark_ms(at, WATCH_S), KILL_BAR_MS if signal in KILLS else STOP_BAR_MS)
    if signal == "STOP":
        rig.guest.do("signal", processes=lit.processes(names), name="CONT")
    if signal == HANGS:
        rig.guest.do("thaw")
    yield from _afterwards(rig, what, lit, focus=focus)


def _afterwards(rig: Rig, what: str, lit: Lit, *, focus: bool) -> Iterable[Row]:
    """No light comes by itself, and what is booked is what was seen."""
    rig.guest.wait("app", 1.5)
    lights = rig.lights(lit.at)
    if len(lights) > 1:
        yield rig.row(f"{what}: no light after it", False, f"{len(lights) - 1} more: {[round(s, 3) for s in lights[1:]]}")
    if focus:
        return
    rig.sweep()
    rig.guest.run("lamphouse resume --show")
    booked = rig.booked()
    holds = len(booked) == 1 and booked[0].holds(lights[0], FEW_MS / 1000)
    yield rig.row(f"{what}: booked", holds, f"{', '.join(map(str, booked))}; seen {lights[0]:.3f}")
