"""A scan through the system's own ``scanimage`` (SANE): colour, 16 bits, linear where it can be, nothing automatic."""

import re
import shutil
import subprocess
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from timer.documents.files import must_be_free, part_beside, put_in_place
from timer.errors import LamphouseError, reason
from timer.text import one_line

LONGEST_S = 900
"""A slow scanner at 600 to the inch takes some minutes."""
_ANSWERS_S = 60
_OPTION = re.compile(r"^ +--?([a-z0-9-]+)(\[=\([^)]*\)\])? ?(.*?) \[([^\]]*)\](?: \[[a-z, ]+\])*$", re.M)
_OFF = ("auto-exposure", "automatic-exposure", "custom-gamma", "auto-adjust", "color-correction", "three-pass")


@dataclass(frozen=True)
class Asked:
    """What is asked of a scanner, as ``scanimage`` has it; ``notes``: what it cannot do."""

    words: tuple[str, ...]
    notes: tuple[str, ...]


def scan_to(path: Path, device: str = "", per_inch: int = 300) -> tuple[str, ...]:
    """Scan into a new TIFF at ``path``; what the scanner could not do. LamphouseError without program or scanner."""
    must_be_free(path)
    program = shutil.which("scanimage")
    if not program:
        raise LamphouseError("no program scanimage here: sudo apt install sane-utils, or scan to a file by another")
    name = [f"--device-name={device}"] if device else []
    asked = asked_of(_said_by([program, *name, "--all-options"]), per_inch)
    try:
        part = part_beside(path)
        try:
            with open(part, "wb") as file:
                _run([program, *name, "--format=tiff", *asked.words], LONGEST_S, file.fileno())
            if not part.stat().st_size:
                raise LamphouseError("the scanner gave an empty scan")
            put_in_place(part, path)
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)
    except OSError as error:
        raise LamphouseError(f"{path}: cannot be written: {reason(error)}") from None
    return asked.notes


def asked_of(options: str, per_inch: int) -> Asked:
    """The options to set, by the list that ``scanimage --all-options`` gives of a device."""
    known = {name: values for name, _, values, now in _OPTION.findall(options) if now != "inactive"}
    switches = {name for name, switch, _, now in _OPTION.findall(options) if switch and now != "inactive"}
    words, notes = list[str](), list[str]()
    colour = [mode for mode in _choices(known.get("mode", "")) if "color" in mode.lower() or "colour" in mode.lower()]
    if colour:
        words.append(f"--mode={next((mode for mode in colour if '48' in mode), colour[0])}")
    else:
        notes.append("the scanner names no colour mode: what it is set to is taken")
    if "16" in _choices(known.get("depth", "")):
        words.append("--depth=16")
    elif not any("48" in mode for mode in colour):
        notes.append("the scanner gives no 16 bits: dark patches are read less well")
    linear = [value for value in _choices(known.get("gamma-correction", "")) if "linear" in value.lower() or value == "1.0"]
    words += [f"--gamma-correction={linear[0]}"] if linear else []
    words += [f"--{name}=no" for name in _OFF if name in switches]
    if "resolution" in known:
        words.append(f"--resolution={_resolution(known['resolution'], per_inch)}")
    return Asked(tuple(words), tuple(notes))


def _choices(values: str) -> list[str]:
    return [value.strip() for value in values.split("|")] if values else []


def _resolution(values: str, wanted: int) -> int:
    """The nearest that is offered: of a range, or a list."""
    numbers = [int(float(n)) for n in re.findall(r"\d+(?:\.\d+)?", values.partition("(")[0])]
    if ".." in values and len(numbers) >= 2:
        return min(max(wanted, numbers[0]), numbers[1])
    return min(numbers, key=lambda n: abs(n - wanted), default=wanted)


def _said_by(command: list[str]) -> str:
    said = _run(command, _ANSWERS_S, subprocess.PIPE)
    if "All options specific to device" not in said:
        raise LamphouseError("no scanner is found: is it on, plugged in, and listed by `scanimage -L`?")
    return said


def _run(command: list[str], seconds: float, out: int) -> str:
    try:
        done = subprocess.run(
            command, stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.PIPE, timeout=seconds, check=False
        )
    except subprocess.TimeoutExpired:
        raise LamphouseError(f"the scanner has not answered for {seconds:g} s") from None
    except OSError as error:
        raise LamphouseError(f"scanimage cannot be run: {reason(error)}") from None
    if done.returncode:
        lines = done.stderr.decode(errors="replace").strip().splitlines()
        says = lines[-1].removeprefix("scanimage: ") if lines else f"it ended with {done.returncode}"
        if "no SANE devices" in says:
            raise LamphouseError("no scanner is found: is it on, plugged in, and listed by `scanimage -L`?")
        raise LamphouseError(f"the scanner: {one_line(says, 200)}")
    return (done.stdout or b"").decode(errors="replace")
