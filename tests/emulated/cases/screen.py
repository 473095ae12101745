"""The screen on a terminal, lit by its own key; then the terminal goes, or the screen is hit."""

from collections.abc import Iterable, Iterator

from tests.emulated.cases import attempt
from tests.emulated.cases.killed import KILL_BAR_MS, STOP_BAR_MS
from tests.emulated.rig import Lit, Rig
from tests.emulated.table import Row

FOCUS_LIGHT = "f"
OPENS_S = 60.0


def screen(rig: Rig) -> Iterator[Row]:
    yield from attempt(rig, "terminal closed", _closed)
    yield from attempt(rig, "screen KILL", _hit, "KILL", KILL_BAR_MS)
    yield from attempt(rig, "screen STOP", _hit, "STOP", STOP_BAR_MS)


def _lit(rig: Rig) -> Lit:
    rig.fresh()
    began = rig.now()
    rig.guest.start("app", "exec lamphouse", terminal=True)
    rig.wait_for_keeper(OPENS_S)
    rig.said("app", "PREPARE", OPENS_S)
    rig.until(rig.now() + 2)
    rig.guest.tell("app", FOCUS_LIGHT)
    lit = rig.lit(began, seconds=20)
    rig.until(lit.at + 1)
    return lit


def _closed(rig: Rig) -> Iterable[Row]:
    _lit(rig)
    before = rig.now()
    rig.guest.do("mark_and_hang_up", name="app")
    edge = rig.witness.wait(rig.model.marker, True, before, 5)
    yield rig.row_ms("terminal closed, focus light", rig.dark_ms(edge.at if edge else before, 3), KILL_BAR_MS)


def _hit(rig: Rig, signal: str, bar_ms: float) -> Iterable[Row]:
    lit = _lit(rig)
    at = rig.hit([lit.app], signal)
    yield rig.row_ms(f"screen {signal}, focus light", rig.dark_ms(at, 3), bar_ms)
