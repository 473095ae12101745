"""The firmware in simavr, as a keeper to be talked to: built once, run behind a pseudo-terminal."""

import subprocess
import tempfile
from functools import cache
from pathlib import Path

from tests.tools.needs import need

ROOT = Path(__file__).parents[2]
TOOLS = "gcc-avr avr-libc libsimavr-dev libelf-dev gcc make"


def built() -> tuple[Path, Path]:
    """The firmware's ELF and the simulated board, made once a session."""
    need("avr-gcc", "make", "gcc", header="/usr/include/simavr/sim_avr.h", install=TOOLS)
    return _built()


@cache
def _built() -> tuple[Path, Path]:
    folder = Path(tempfile.mkdtemp(prefix="lh-hil-"))
    make = ["make", "-C", str(ROOT / "hardware" / "controller"), f"BUILD={folder}"]
    subprocess.run(make, check=True, capture_output=True, text=True)
    board = folder / "board"
    flags = ["-O2", "-Wall", "-Wextra", "-Werror", "-o", str(board)]
    subprocess.run(["gcc", *flags, str(Path(__file__).parent / "board.c"), "-lsimavr", "-lelf", "-lutil"], check=True)
    return folder / "keeper.elf", board


class SimulatedController:
    """A running board; ``port`` is its serial line, the witness has its pins."""

    def __init__(self, wire: Path, *, speed: float = 1.0, light: Path | None = None) -> None:
        elf, board = built()
        command = [str(board), str(elf), str(wire), str(speed), *([str(light)] if light else [])]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        assert self.process.stdout
        lines = iter(self.process.stdout.readline, "")  # the loader has words of its own first
        self.port = next(line.strip() for line in lines if line.startswith("/dev/"))
        self._lines = lines

    def replugged(self) -> str:
        """The port's new name, after the witness was told to pull it."""
        self.port = next(line.strip() for line in self._lines if line.startswith("/dev/"))
        return self.port

    def close(self) -> None:
        self.process.kill()
        self.process.wait()
        assert self.process.stdout
        self.process.stdout.close()
