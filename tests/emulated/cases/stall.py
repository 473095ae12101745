"""A disk that stalls under the notebook while it is lit: a file system on a loop device, frozen from beside."""

from collections.abc import Iterator

from tests.emulated.cases import attempt
from tests.emulated.cases.killed import KILL_BAR_MS, LIT_FOR_S
from tests.emulated.rig import FEW_MS, HOME, Rig
from tests.emulated.table import Row

LIGHT_S = 2.5
STALL_S = 4.0
"""Longer than the light is."""
DISK = (
    "set -e; for m in /emulated/modules/*.ko; do insmod $m 2>/dev/null || true; done; "
    "[ -e /tmp/disk ] || { dd if=/dev/zero of=/tmp/disk bs=1M count=0 seek=48 2>/dev/null; mkfs.ext4 -q /tmp/disk; }; "
    f"mkdir -p {HOME}; mount -o loop /tmp/disk {HOME}; rm -rf {HOME}/*"
)
FREEZE, THAW = f"fsfreeze -f {HOME}", f"fsfreeze -u {HOME}"


def stall(rig: Rig) -> Iterator[Row]:
    rig.fresh()
    made = rig.guest.run(DISK)
    if made.code:
        yield rig.row("a disk that can stall", False, f"cannot be made in this guest: {made.last}")
        return
    try:
        yield from attempt(rig, "stalls in the light", _in_the_light)
        yield from attempt(rig, "stalls, lamp off", _lamp_off)
        yield from attempt(rig, "stalls, keeper KILL", _killed)
        yield from attempt(rig, "stalls while it waits for the press", _waiting)
    finally:
        rig.guest.run(f"{THAW}; true")
        rig.sweep()
        rig.guest.run(f"sync; umount {HOME} || umount -l {HOME}")


def _in_the_light(rig: Rig) -> Iterator[Row]:
    rig.fresh_home()
    lit = rig.light(LIGHT_S)
    rig.until(lit.at + LIT_FOR_S)
    rig.guest.run(FREEZE)
    rig.until(lit.at + STALL_S)
    seen = rig.lights(lit.at)[0]
    yield rig.row("stalls in the light", abs(seen - LIGHT_S) * 1000 < FEW_MS, f"{seen:.3f} s of {LIGHT_S} s ordered")
    rig.guest.run(THAW)
    ended = rig.guest.wait("app", 10)
    booked = rig.booked()
    holds = ended.code == 0 and len(booked) == 1 and booked[0].holds(seen, FEW_MS / 1000)
    yield rig.row("stalls in the light: booked when it goes on", holds, f"{', '.join(map(str, booked))}; exit {ended.code}")


def _lamp_off(rig: Rig) -> Iterator[Row]:
    rig.fresh_home()
    lit = rig.light(20.0)
    rig.until(lit.at + LIT_FOR_S)
    rig.guest.run(FREEZE)
    said = rig.off()
    dark = not rig.witness.high(rig.lamp)
    rig.guest.run(THAW)
    yield rig.row("stalls, lamp off", dark and said.code == 0, said.last)


def _killed(rig: Rig) -> Iterator[Row]:
    rig.fresh_home()
    lit = rig.light(6.0)
    rig.until(lit.at + LIT_FOR_S)
    rig.guest.run(FREEZE)
    at = rig.hit([lit.keeper], "KILL")
    yield rig.row_ms("stalls, keeper KILL", rig.dark_ms(at, 2), KILL_BAR_MS)
    rig.guest.run(THAW)


def _waiting(rig: Rig) -> Iterator[Row]:
    """What the light is for is on the disk before the press is waited for: then the disk has no say in it."""
    rig.fresh_home()
    rig.recipe(1.0)
    rig.guest.start("app", f"lamphouse print {HOME}/one.toml")
    if not rig.said("app", "ready", 40):
        yield rig.row("stalls while it waits for the press", False, "could not be tried: it is not ready")
        return
    since = rig.now()
    rig.guest.run(FREEZE)
    rig.guest.tell("app", "\n")
    rig.until(since + 3)
    lights = rig.lights(since)
    rig.guest.run(THAW)
    rig.guest.wait("app", 10)
    booked = rig.booked()
    holds = len(lights) == len(booked) == 1 and booked[0].holds(lights[0], FEW_MS / 1000)
    figure = f"seen {[round(s, 3) for s in lights]}; {', '.join(map(str, booked))}"
    yield rig.row("stalls while it waits for the press", holds, figure)
