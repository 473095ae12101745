"""`lamphouse setup` on a machine made up in a folder: what it shows, writes, leaves alone and takes back."""

import json
from pathlib import Path

import pytest

from tests.conftest import Run
from timer.app import machine
from timer.errors import LamphouseError

ROOT = Path(__file__).parents[2]


def everything(root: Path) -> dict[str, str]:
    return {str(p.relative_to(root)): p.read_text() for p in sorted(root.rglob("*")) if p.is_file()}


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A Raspberry Pi's file system, as far as it matters here."""
    config = tmp_path / "boot/firmware/config.txt"
    config.parent.mkdir(parents=True)
    config.write_text("arm_64bit=1\n[pi4]\nmax_framebuffers=2")
    return tmp_path


def test_the_unit_in_hardware_is_the_one_that_ships() -> None:
    shipped = (ROOT / "timer/app/lamphouse.service").read_text()
    assert (ROOT / "hardware/systemd/lamphouse.service").read_text() == shipped


def test_the_unit_darkens_whatever_happens_and_touches_no_disk_with_the_lamp() -> None:
    unit = (ROOT / "timer/app/lamphouse.service").read_text()
    for line in ("ExecStopPost=", "WorkingDirectory=%S/lamphouse", "RuntimeDirectoryPreserve=yes", "StartLimitBurst=3"):
        assert line in unit
    (service,) = [p for p in machine.pieces("root", "/opt/l/bin/lamphouse") if p.name == "unit"]
    assert "ExecStopPost=/opt/l/bin/lamphouse lamp off" in service.text
    assert "User=root" in service.text
    assert "/home/pi" not in service.text


def test_shown_written_found_and_taken_back(root: Path, lamphouse: Run) -> None:
    before = everything(root)
    shown = lamphouse("setup", "--root", str(root)).stdout
    assert "not in place" in shown
    assert everything(root) == before
    lamphouse("setup", "--root", str(root), "--write")
    rows = json.loads(lamphouse("setup", "--root", str(root), "--json").stdout)["pieces"]
    assert {row["state"] for row in rows} == {"there"}
    config = (root / "boot/firmware/config.txt").read_text()
    assert config.startswith("arm_64bit=1\n[pi4]\nmax_framebuffers=2\n")
    assert "[all]\ndtparam=strict_gpiod\n" in config
    again = json.loads(lamphouse("setup", "--root", str(root), "--write", "--json").stdout)["pieces"]
    assert not any(row["changed"] for row in again)
    lamphouse("setup", "--root", str(root), "--remove")
    assert {k: v.rstrip() for k, v in everything(root).items()} == {k: v.rstrip() for k, v in before.items()}


def test_what_is_not_ours_is_left_alone(root: Path, lamphouse: Run) -> None:
    theirs = root / "etc/sysctl.d/60-lamphouse.conf"
    theirs.parent.mkdir(parents=True)
    theirs.write_text("kernel.panic = 30\n")
    done = lamphouse("setup", "--root", str(root), "--write", "--only", "panic", check=1)
    assert "not ours" in done.stderr
    lamphouse("setup", "--root", str(root), "--remove")
    assert theirs.read_text() == "kernel.panic = 30\n"


def test_settings_that_were_changed_stay(root: Path) -> None:
    (mine,) = [p for p in machine.pieces("root", "lamphouse", root) if p.name == "settings"]
    assert machine.write(mine)
    mine.path.write_text('lamp = "gpio"\nsound = "quiet"\n')
    assert not machine.write(mine)
    assert not machine.remove(mine)
    assert "quiet" in mine.path.read_text()


def test_wrong_calls_get_a_sentence(lamphouse: Run, root: Path) -> None:
    assert "there is no piece" in lamphouse("setup", "--only", "nonsense", check=2).stderr
    assert "no user" in lamphouse("setup", "--user", "nobody-here", check=1).stderr
    assert "not both" in lamphouse("setup", "--write", "--remove", check=2).stderr


def test_a_place_that_cannot_be_written_is_a_sentence(root: Path) -> None:
    (unit,) = [p for p in machine.pieces("root", "lamphouse", root) if p.name == "unit"]
    (root / "etc").write_text("a file where a folder should be")
    with pytest.raises(LamphouseError, match=r"cannot be (read|written)"):
        machine.write(unit)
