"""The two boards, as different as boards are in the one thing that matters: what becomes of an output whose owner dies."""

from dataclasses import dataclass
from typing import Literal

Kind = Literal["virt", "raspi3b"]


@dataclass(frozen=True)
class Model:
    """A board that QEMU knows. Pins are offsets on its GPIO chip.

    ``trace``: the emulator's trace events that tell of its pins. ``outlives``: an output stays as it was when its owner
    dies. ``inputs``: a hand outside can move its input pins. ``tree``: the device tree that the kernel's package brings
    for it, empty if the emulator makes its own.
    """

    kind: Kind
    says: str
    machine: tuple[str, ...]
    trace: tuple[str, ...]
    lamp: int
    footswitch: int
    marker: int
    buzzer: int
    outlives: bool
    inputs: bool
    tree: str = ""


VIRT = Model(
    "virt",
    "PL061, outputs outlive their owner",
    ("-machine", "virt", "-cpu", "cortex-a53", "-smp", "2", "-m", "1024"),
    ("pl061_set_output",),
    lamp=5,
    footswitch=2,
    marker=6,
    buzzer=4,
    outlives=True,
    inputs=True,
)
RASPI3B = Model(
    "raspi3b",
    "BCM2835, a Pi 3B's own device tree",
    ("-machine", "raspi3b"),
    ("memory_region_ops_write",),
    lamp=17,
    footswitch=27,
    marker=22,
    buzzer=23,
    outlives=False,
    inputs=False,
    tree="broadcom/bcm2837-rpi-3-b.dtb",
)
MODELS: dict[str, Model] = {model.kind: model for model in (VIRT, RASPI3B)}
