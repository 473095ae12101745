"""One lamp, one owner; nobody's folder and no foreign library in the way."""

import time
from collections.abc import Iterable, Iterator

from tests.emulated.cases import attempt
from tests.emulated.cases.killed import KILL_BAR_MS, LIT_FOR_S
from tests.emulated.rig import FEW_MS, HOME, Rig
from tests.emulated.table import Row

LIGHT_S = 8.0
LONG_S = 20.0
"""Long enough for a second program to start and end meanwhile."""


def owner(rig: Rig) -> Iterator[Row]:
    yield from attempt(rig, "a second app", _second)
    for user, folder in (("pi", "/home/pi"), ("pi", "/"), ("pi", "/tmp/read-only")):
        yield from attempt(rig, f"{user} in {folder}", _from_folder, user, folder)
    yield from attempt(rig, "without gpiod", _no_library)
    if rig.model.kind == "raspi3b":
        yield from attempt(rig, "native", _native)


def _second(rig: Rig) -> Iterable[Row]:
    """Of another home folder: the lamp is the machine's, not the folder's."""
    rig.fresh()
    lit = rig.light(LONG_S)
    rig.guest.run(f"mkdir -p /tmp/other; cp {HOME}/settings.toml {HOME}/one.toml /tmp/other")
    command = "lamphouse print /tmp/other/one.toml --advance auto --pause 0"
    said = rig.guest.run(command, LAMPHOUSE_HOME="/tmp/other")
    refused = said.code not in (0, None) and "held by another" in said.text
    yield rig.row("a second app is refused", refused, f"exit {said.code}: {said.last}")
    rig.until(lit.at + LONG_S + 0.5)
    lights = rig.lights(lit.at)
    same = len(lights) == 1 and abs(lights[0] - LONG_S) * 1000 < FEW_MS
    yield rig.row("the first is not touched", same, f"{[round(s, 3) for s in lights]} s")


def _from_folder(rig: Rig, user: str, folder: str) -> Iterable[Row]:
    """Started where nothing can be written: fit, a light as ordered, dark when the keeper is killed."""
    what = f"{user} in {folder}"
    rig.fresh()
    rig.guest.run(f"chown -R {user} {HOME}; mkdir -p /tmp/read-only; mount -t tmpfs -o ro none /tmp/read-only; true")
    try:
        found = rig.json("lamphouse doctor --lamp gpio --json", user=user, cwd=folder)
        faults = [row["says"] for row in found if row["state"] == "fault"]
        yield rig.row(f"{what}: doctor", not faults, "; ".join(faults) or "no fault")
        lit = rig.light(LIGHT_S, user=user, cwd=folder)
        rig.until(lit.at + LIT_FOR_S)
        at = rig.hit([lit.keeper], "KILL")
        yield rig.row_ms(f"{what}: keeper KILL", rig.dark_ms(at, 2), KILL_BAR_MS)
    finally:
        rig.guest.run("umount /tmp/read-only")


def _no_library(rig: Rig) -> Iterable[Row]:
    """Where gpiod cannot be loaded there is a sentence, and never another back end that nobody named."""
    rig.fresh()
    rig.recipe(1.0)
    rig.guest.do("put", path="/tmp/shadow/gpiod.py", text="raise ImportError('not here')\n")
    since = time.time()
    command = f"lamphouse print {HOME}/one.toml --advance auto --pause 0"
    said = rig.guest.run(command, PYTHONPATH="/tmp/shadow")
    edges = rig.witness.edges(rig.lamp, since)
    says = "gpiod is missing" in said.text and said.code not in (0, None) and "Traceback" not in said.text
    yield rig.row("without gpiod: no other back end", says and not edges, f"exit {said.code}: {said.last}")


def _native(rig: Rig) -> Iterable[Row]:
    """A back end that writes the chip's registers, named on purpose: its outputs outlive it on every kernel."""
    rig.fresh()
    lit = rig.light(LIGHT_S, GPIOZERO_PIN_FACTORY="native")
    rig.until(lit.at + LIT_FOR_S)
    at = rig.hit([lit.keeper], "KILL")
    yield rig.row_ms("native, named on purpose: keeper KILL", rig.dark_ms(at, 3), KILL_BAR_MS)
