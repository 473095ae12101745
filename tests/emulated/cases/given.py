"""Light as it was ordered, seen from outside, and as it was booked."""

import time
from collections.abc import Iterator

from tests.emulated.cases import attempt
from tests.emulated.rig import FEW_MS, HOME, Rig
from tests.emulated.table import Row

STRIP = "lamphouse strip --from 1 --step 1 --patches 3 --advance auto --pause 0.3 --json"
PRINT = f"lamphouse print {HOME}/hut.toml --advance auto --pause 0.3 --json"
HUT = """recipe = 1
title = "Hut"
base_s = 3.0

[paper]
kind = "bw"

[[dodge]]
area = "hut"
stops = "1/2"

[[burn]]
area = "sky"
stops = "1/2"
"""
HUT_S = [3.0, 3.0 * (2**0.5 - 1)]
"""Base, and the burn: half a stop more is the square root of two times the base in all."""


def strip(rig: Rig) -> Iterator[Row]:
    yield from attempt(rig, "strip of three patches", _run, "strip of three patches", STRIP, [1.0, 1.0, 2.0])


def print_(rig: Rig) -> Iterator[Row]:
    rig.fresh()
    yield from attempt(rig, "print with a dodge and a burn", _run, "print with a dodge and a burn", PRINT, HUT_S)


def _run(rig: Rig, what: str, command: str, ordered: list[float]) -> Iterator[Row]:
    rig.fresh()
    rig.guest.do("put", path=f"{HOME}/hut.toml", text=HUT)
    since = time.time()
    told = rig.json(command)
    seen = rig.lights(since)
    holds = len(seen) == len(ordered) and all(abs(s - o) * 1000 < FEW_MS for s, o in zip(seen, ordered, strict=True))
    yield rig.row(what, holds, f"seen {', '.join(f'{s:.3f}' for s in seen)} s")
    said = [exposure["on_time_s"] for exposure in told["exposures"]]
    off = max((abs(s - o) * 1000 for s, o in zip(seen, said, strict=False)), default=0.0)
    same = len(said) == len(seen) and off < FEW_MS and told["state"] == "finished"
    yield rig.row(f"{what}: booked", same, f"{told['state']}, off by {off:.1f} ms at most")
