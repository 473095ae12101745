"""The firmware as source: what it shares with Python, its stack by reckoning, and what a checker says of it."""

import re
import subprocess
import sys
from pathlib import Path

from tests.hil.script import MS, Script
from tests.hil.sim import FIRMWARE, STACK_FREE, built
from tests.tools.needs import need
from timer.keeper.wire import messages

RAM_END = 0x900


def test_the_header_is_what_python_says() -> None:
    made = subprocess.run(
        [sys.executable, str(FIRMWARE / "protocol_h.py")], check=True, capture_output=True, text=True
    ).stdout
    stale = "stale: run python hardware/controller/protocol_h.py > hardware/controller/protocol.h"
    assert made == (FIRMWARE / "protocol.h").read_text(), stale


def test_no_number_of_the_protocol_is_written_twice() -> None:
    """Message types and reasons are the header's: none of its names is defined anywhere else."""
    header = (FIRMWARE / "protocol.h").read_text()
    names = set(re.findall(r"^#define (\w+)", header, re.M)) | set(
        re.findall(r"\b((?:MSG|WHY|REFUSED|STATE|CUE)_\w+) =", header)
    )
    assert len(names) > 60
    for source in (path for path in FIRMWARE.glob("*.[ch]") if path.name != "protocol.h"):
        text = source.read_text()
        assert not [name for name in names if re.search(rf"#define {name}\b|\b{name} *= *\d", text)], source.name


def test_the_build_needs_no_python(tmp_path: Path) -> None:
    """avr-gcc, its binutils, make and awk are enough, as hardware/controller/README.md says."""
    built()
    bare = tmp_path / "bin"
    bare.mkdir()
    for tool in ("avr-gcc", "avr-size", "avr-objdump", "avr-objcopy", "avr-nm", "make", "awk", "sed", "mkdir", "sh", "rm"):
        where = subprocess.run(["which", tool], check=True, capture_output=True, text=True).stdout.strip()
        (bare / tool).symlink_to(where)
    make = ["make", "-C", str(FIRMWARE), f"BUILD={tmp_path / 'build'}"]
    subprocess.run(make, check=True, capture_output=True, env={"PATH": str(bare)})
    assert (tmp_path / "build" / "keeper.hex").exists()


def _make(folder: Path, *options: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(["make", "-C", str(FIRMWARE), f"BUILD={folder}", *options], capture_output=True, text=True)


def test_a_stack_that_is_too_deep_fails_the_build(tmp_path: Path) -> None:
    built()
    done = _make(tmp_path, "STACK_FREE=1000")
    assert done.returncode != 0
    assert "fewer than 1000 bytes are left" in done.stderr
    assert not (tmp_path / "keeper.elf").exists()


def test_the_stack_is_as_reckoned(tmp_path: Path) -> None:
    """The deepest that a busy board has been seen is no deeper than the reckoning, and not far from it."""
    made = built()
    told = _make(tmp_path).stdout
    found = re.search(r"stack: (\d+) bytes at most .* (\d+) left", told)
    assert found, told
    reckoned, left = int(found[1]), int(found[2])
    assert left >= STACK_FREE
    script = Script()
    script.beats(10, 2_000)
    script.at(0, "light 2500")
    for n in range(6):
        cues = tuple((1_000 * k, 1) for k in range(40))
        script.say((50 + 300 * n) * MS, messages.Arm(n + 1, 100_000, n % 2 == 0, cues, 90_000, 2_000_000))
        script.foot((200 + 300 * n) * MS, True)
        script.foot((230 + 300 * n) * MS, False)
        script.say((250 + 300 * n) * MS, messages.AskRecord(n))
    script.say(1_900 * MS, messages.Dose(99, 9_000, 200_000, 10_000, True))
    used = RAM_END - (made.symbols["_end"] & 0xFFFF) - script.run(2_200).stack
    assert 0.7 * reckoned <= used <= reckoned


def test_a_checker_has_nothing_to_say() -> None:
    need("cppcheck", install="cppcheck")
    command = ["cppcheck", "--quiet", "--enable=warning,style,performance,portability", "--platform=avr8"]
    done = subprocess.run(
        [*command, "--error-exitcode=1", "-DF_CPU=16000000UL", str(FIRMWARE)], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
