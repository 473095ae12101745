"""A kernel that panics while it is lit. No software ends that light: with panic=1 the machine's restart does."""

import time
from collections.abc import Iterator

from tests.emulated.rig import Rig
from tests.emulated.table import Row

LIGHT_S = 30.0
WATCH_S = 6.0
RESTART_BAR_MS = 5000
"""From the command: a second of the kernel's, and what an emulated machine takes to print its last words and restart."""
PANIC = "echo c >/proc/sysrq-trigger"


def restarts(rig: Rig) -> Iterator[Row]:
    at, ms = _panic(rig)
    yield rig.row_ms("panic=1: dark by the restart", ms, RESTART_BAR_MS)
    rig.guest.wait_ready(120)
    lights = rig.witness.lights(rig.lamp, at)
    yield rig.row("panic=1: up again, no light", not lights, f"{len(lights)} lights")


def halts(rig: Rig) -> Iterator[Row]:
    _, ms = _panic(rig)
    figure = f"lit for as long as was watched, {WATCH_S:.0f} s" if ms is None else f"dark after {ms:.0f} ms"
    yield rig.told("panic=0: no software ends this light", figure)


def _panic(rig: Rig) -> tuple[float, float | None]:
    rig.fresh()
    lit = rig.light(LIGHT_S)
    rig.until(lit.at + 1)
    at = time.time()
    rig.guest.order("run", shell=PANIC, seconds=5, user="root", cwd="", environ={})
    rig.guest.printed("Kernel panic", 5)
    return at, rig.dark_ms(at, WATCH_S)
