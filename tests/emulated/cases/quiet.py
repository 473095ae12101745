"""What must give no light at all: starting the machine, and looking whether it is fit."""

from collections.abc import Iterator

from tests.emulated.rig import Rig
from tests.emulated.table import Row


def boot(rig: Rig) -> Iterator[Row]:
    edges = rig.witness.edges(rig.lamp)
    yield rig.row("no edge of the lamp until the first command", not edges, f"{len(edges)} edges, up in {rig.boot_s:.0f} s")


def doctor(rig: Rig) -> Iterator[Row]:
    rig.fresh()
    since = len(rig.witness.edges(rig.lamp))
    found = rig.json("lamphouse doctor --lamp gpio --json")
    edges = len(rig.witness.edges(rig.lamp)) - since
    yield rig.row("doctor: no edge of the lamp", edges == 0, f"{edges} edges")
    faults = [f"{row['what']}: {row['says']}" for row in found if row["state"] == "fault"]
    yield rig.row("doctor: fit", not faults, "; ".join(faults) or "no fault")
    outputs = next((row["says"] for row in found if row["what"] == "outputs"), "not said")
    right = ("stay on" in outputs) is rig.model.outlives and outputs.startswith("tried")
    yield rig.row("doctor: what outputs do without their owner", right, outputs.partition(";")[0].partition(",")[0])
    if rig.model.kind == "raspi3b":
        pull = rig.pulls.get(rig.lamp, "as it was found")
        yield rig.row("doctor: the pin's own pull", pull == "down", pull)
