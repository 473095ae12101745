"""The firmware in simavr: built once a session; live behind a pseudo-terminal here, on a script in script.py."""

import subprocess
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.tools.needs import need

ROOT = Path(__file__).parents[2]
FIRMWARE = ROOT / "hardware" / "controller"
TOOLS = "gcc-avr avr-libc binutils-avr libsimavr-dev libelf-dev gcc make"
STACK_FREE = 96
"""Bytes of memory that the stack must leave untouched, whatever is run."""


@dataclass(frozen=True)
class Built:
    """The firmware's ELF, the two simulators, and where its functions and its stack's end are."""

    elf: Path
    board: Path
    script: Path
    symbols: dict[str, int]

    @property
    def stack_low(self) -> str:
        return f"{self.symbols['_end'] & 0xFFFF:x}"


def built() -> Built:
    """Made once a session."""
    need("avr-gcc", "avr-nm", "make", "gcc", header="/usr/include/simavr/sim_avr.h", install=TOOLS)
    return _built()


@cache
def _built() -> Built:
    folder = Path(tempfile.mkdtemp(prefix="lh-hil-"))
    make = ["make", "-C", str(FIRMWARE), f"BUILD={folder}"]
    subprocess.run(make, check=True, capture_output=True, text=True)
    here = Path(__file__).parent
    for name in ("board", "script"):
        sources = [str(here / f"{name}.c"), str(here / "mcu.c")]
        flags = ["-O2", "-Wall", "-Wextra", "-Werror", "-o", str(folder / name)]
        subprocess.run(["gcc", *flags, *sources, "-lsimavr", "-lelf", "-lutil"], check=True)
    elf = folder / "keeper.elf"
    listed = subprocess.run(["avr-nm", str(elf)], check=True, capture_output=True, text=True).stdout
    rows = (row.split() for row in listed.splitlines())
    return Built(elf, folder / "board", folder / "script", {name: int(at, 16) for at, _, name in rows})


class SimulatedController:
    """A running board; ``port`` is its serial line, the witness has its pins."""

    def __init__(self, wire: Path, *, speed: float = 1.0, light: Path | None = None) -> None:
        made = built()
        command = [str(made.board), str(made.elf), made.stack_low, str(wire), str(speed), *([str(light)] if light else [])]
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert self.process.stdout
        self._lines = iter(self.process.stdout.readline, "")  # the loader has words of its own first
        self.port = self._next("/dev/")

    def _next(self, start: str) -> str:
        return next(line.strip() for line in self._lines if line.startswith(start))

    def replugged(self) -> str:
        """The port's new name, after the witness was told to pull it."""
        self.port = self._next("/dev/")
        return self.port

    def close(self) -> None:
        """End it; AssertionError if its stack came too near to the rest of its memory, whatever the test was about."""
        assert self.process.stdin and self.process.stdout
        try:
            self.process.stdin.close()
            free = int(self._next("stack").split()[1])
        finally:
            self.process.kill()
            self.process.wait()
            self.process.stdout.close()
        assert free >= STACK_FREE, f"the stack left {free} bytes"
