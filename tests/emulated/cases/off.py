"""``lamp off`` in every state, and ``lamp status`` beside a lit lamp."""

import time
from collections.abc import Iterable, Iterator
from typing import Any

from tests.emulated.cases import attempt
from tests.emulated.rig import FEW_MS, Rig
from tests.emulated.table import Row

LIGHT_S = 25.0
ALL = ("app", "keeper", "guard")
AT_ONCE_MS = 300
"""From the order to the dark, the start of a program left out: that alone takes an emulated processor a second."""


def off(rig: Rig) -> Iterator[Row]:
    yield from attempt(rig, "nothing runs", _idle)
    yield from attempt(rig, "lit", _lit, "lit", (), "KILL")
    for names in (("app",), ("keeper",), ("guard",), ALL):
        what = "lit, all three stopped" if names == ALL else f"lit, {names[0]} stopped"
        yield from attempt(rig, what, _lit, what, names, "STOP")
    yield from attempt(rig, "all three killed at once", _all_killed)
    for stopped in (False, True):
        yield from attempt(rig, "pin held by another program", _foreign, stopped=stopped)
    yield from attempt(rig, "first moments of a start", _starting)


def few_off(rig: Rig) -> Iterator[Row]:
    yield from attempt(rig, "lit", _lit, "lit", (), "KILL")
    yield from attempt(rig, "all three killed at once", _all_killed)


def _idle(rig: Rig) -> Iterable[Row]:
    rig.fresh()
    edges = len(rig.witness.edges(rig.lamp))
    said = rig.off()
    quiet = len(rig.witness.edges(rig.lamp)) == edges
    yield rig.row("nothing runs", said.code == 0 and quiet and "reads low" in said.text, said.last)


def _lit(rig: Rig, what: str, names: tuple[str, ...], signal: str) -> Iterable[Row]:
    """By the command, and by the same code without a program's start: who is stopped may be ended by others before that."""
    rig.fresh()
    lit = rig.light(LIGHT_S)
    if not names:
        yield from _status(rig, lit.keeper)
    rig.guest.do("signal", processes=lit.processes(names), name=signal)
    if names in ((), ALL):  # nobody else ends these, so the command has something to end
        began = time.time()
        said = rig.off()
        ms = rig.dark_ms(began, 0)
        figure = "never dark" if ms is None else f"{ms:.0f} ms from the start of the command; {said.last}"
        yield rig.row(f"{what}: the command", ms is not None and said.code == 0 and "reads low" in said.text, figure)
    else:
        told = _at_once(rig)
        yield rig.row_ms(f"{what}: at once", rig.dark_ms(told["began"], 0.5, may_be_dark=True), AT_ONCE_MS)
    rig.guest.do("signal", processes=lit.processes(names), name="CONT")
    yield from _no_more(rig, what, lit.at)


def _at_once(rig: Rig, *, at_start: bool = False) -> dict[str, Any]:
    """What ``lamp off`` does, by the agent, whose program runs already; ``began``: by the marker's edge outside."""
    before = time.time()
    told: dict[str, Any] = rig.guest.do("make_dark", pin=rig.lamp, at_start=at_start, patience=40)
    edge = rig.witness.wait(rig.model.marker, True, before, 1)
    return {**told, "began": edge.at if edge else before}


def _no_more(rig: Rig, what: str, since: float) -> Iterable[Row]:
    rig.guest.wait("app", 2)
    more = rig.lights(since)[1:]
    if more:
        yield rig.row(f"{what}: no light after it", False, f"{len(more)} more")


def _status(rig: Rig, keeper: int) -> Iterable[Row]:
    told = rig.json("lamphouse lamp status --json")
    holds = told["lit"] is True and told["keeper"] == keeper
    yield rig.row("lit: lamp status", holds, f"lit {told['lit']}, held by {told['keeper']}: {told['says']}")


def _all_killed(rig: Rig) -> Iterable[Row]:
    """Nobody is left to end the light where outputs outlive their owner: it must be told, and ended when asked."""
    rig.fresh()
    lit = rig.light(LIGHT_S)
    at = rig.hit(lit.processes(ALL), "KILL")
    ms = rig.dark_ms(at, 2)
    yield rig.told("all three killed at once: dark by itself", "no, until lamp off" if ms is None else f"{ms:.0f} ms")
    told = rig.json("lamphouse lamp status --json")
    figure = f"lit {told['lit']}: {told['says']}"
    if rig.model.outlives:
        yield rig.row("all three killed at once: lamp status", told["lit"] is rig.witness.high(rig.lamp), figure)
    else:  # the emulated chip reads an input that nothing drives as it was last driven; a wire would be pulled low
        yield rig.told("all three killed at once: lamp status", figure)
    said = rig.off()
    dark = not rig.witness.high(rig.lamp)
    yield rig.row("all three killed at once: lamp off", dark and said.code == 0, said.last)
    rig.guest.run("lamphouse resume --show")
    seen = rig.lights(lit.at)[0]
    booked = rig.booked()
    holds = len(booked) == 1 and booked[0].holds(seen, FEW_MS / 1000)
    yield rig.row("all three killed at once: booked", holds, f"{', '.join(map(str, booked))}; seen {seen:.3f}")


def _foreign(rig: Rig, *, stopped: bool) -> Iterable[Row]:
    what = f"pin held high by another program{', stopped' if stopped else ''}"
    rig.fresh()
    began = time.time()
    rig.guest.start("holder", f"exec python3 /emulated/hold.py {rig.chip} {rig.lamp}")
    if not rig.witness.wait(rig.lamp, True, began, 20):
        yield rig.row(what, False, "could not be tried: the holder does not hold")
        return
    if stopped:
        rig.guest.do("signal_job", name="holder", number="STOP")
    said = rig.off()
    dark = not rig.witness.high(rig.lamp)
    yield rig.row(what, dark and said.code == 0 and "reads low" in said.text, said.last)


def _starting(rig: Rig) -> Iterable[Row]:
    rig.fresh()
    rig.recipe(3.0)
    began = time.time()
    order = rig.guest.order("make_dark", pin=rig.lamp, at_start=True)
    rig.guest.start("app", "lamphouse print /tmp/home/one.toml --advance auto --pause 0")
    told = rig.guest.answer(order, 60)
    said = rig.guest.wait("app", 8)
    lights = rig.lights(began)
    figure = f"{told['after_ms']:.0f} ms after the keeper came: {told['seen']}; the app: {said.last}"
    yield rig.row("first moments of a start", told["seen"] == "low" and not lights and said.code not in (0, None), figure)
