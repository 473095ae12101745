"""The system's scanimage on SANE's own test backend, a scanner in software whose pictures are known."""

from pathlib import Path

import numpy as np
import pytest

from tests.conftest import Run
from tests.tools.needs import need
from timer.app.scanner import asked_of, scan_to
from timer.errors import LamphouseError
from timer.measure.picture import load

PLAIN = """
All options specific to device `plain:0':
  Scan Mode:
    --mode Lineart|Gray|24 bit Color|48 bit Color [Gray]
    --resolution 75|150|600dpi [75]
    --auto-exposure[=(yes|no)] [yes]
    --custom-gamma[=(yes|no)] [inactive]
    --gamma-correction Default|Linear|High contrast [Default]
    -l 0..215.9mm [0]
"""


@pytest.fixture
def sane(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of SANE's settings with its test backend alone, which is set as a scanner comes: grey, 8 bits."""
    need("scanimage", header="/etc/sane.d/test.conf", install="sane-utils libsane-common")
    folder = tmp_path / "sane"
    folder.mkdir()
    (folder / "dll.conf").write_text("test\n")
    (folder / "test.conf").write_text(
        'number_of_devices 1\nmode Gray\ndepth 8\ntest-picture "Color pattern"\nbr_x 80\nbr_y 100\n'
    )
    monkeypatch.setenv("SANE_CONFIG_DIR", str(folder))
    return folder


def test_a_scan_is_in_colour_and_of_16_bits(sane: Path, tmp_path: Path) -> None:
    path = tmp_path / "s.tif"
    assert scan_to(path, "test:0", 100) == ()
    found = load(path)
    assert (found.bits, found.grey, found.scale) == (16, False, 1)
    assert found.values.shape[:2] == pytest.approx((100 / 25.4 * 100, 80 / 25.4 * 100), abs=2)
    # The backend's pattern of 16 bits has ramps of one colour, and more levels than 8 bits hold.
    levels = {int(v) for v in np.unique(found.samples)}
    assert len(levels) > 300 and min(levels) < 1000 and max(levels) > 64_000
    assert [p for p in tmp_path.iterdir() if p.suffix == ".part"] == []
    with pytest.raises(LamphouseError, match="exists already"):
        scan_to(path)


def test_white_is_white_and_black_black(sane: Path, tmp_path: Path) -> None:
    for picture, value in (("Solid white", 1.0), ("Solid black", 0.0)):
        config = (sane / "test.conf").read_text().splitlines()
        (sane / "test.conf").write_text("\n".join([*config[:3], f'test-picture "{picture}"', *config[4:]]) + "\n")
        scan_to(tmp_path / f"{picture}.tif", per_inch=50)
        assert (load(tmp_path / f"{picture}.tif").values == value).all()


def test_what_is_missing_is_one_sentence(sane: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(LamphouseError, match=r"^the scanner: open of device nosuch failed"):
        scan_to(tmp_path / "a.tif", "nosuch")
    with pytest.raises(LamphouseError, match="cannot be written"):
        scan_to(tmp_path / "none" / "a.tif", "test:0")
    (sane / "dll.conf").write_text("")
    with pytest.raises(LamphouseError, match="no scanner is found"):
        scan_to(tmp_path / "a.tif")
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(LamphouseError, match="apt install sane-utils"):
        scan_to(tmp_path / "a.tif")
    assert not (tmp_path / "a.tif").exists()


def test_what_is_asked_of_another_scanner() -> None:
    asked = asked_of(PLAIN, 300)
    assert asked.words == ("--mode=48 bit Color", "--gamma-correction=Linear", "--auto-exposure=no", "--resolution=150")
    assert asked.notes == ()
    poor = asked_of("All options specific to device `x':\n    --mode Gray [Gray]\n    --depth 8 [8]\n", 300)
    assert poor.words == () and len(poor.notes) == 2


def test_at_the_command_line(sane: Path, lamphouse: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The pattern is no test sheet: boxes are put on it by hand, and what they hold is taken."""
    monkeypatch.chdir(tmp_path)
    lamphouse("strip", "--from", "6", "--patches", "3", "--paper", "ra4", "--pack", "60M 50Y", "--head", "dichroic",
              "--advance", "auto", "--pause", "0", "--speed", "60")  # fmt: skip
    refused = lamphouse("scan", "1", "--scanner", "--device", "test:0", check=1)
    assert "scanned into scan-1.tif" in refused.stderr and "no row of 3 patches" in refused.stderr
    boxes = [word for n in range(1, 4) for word in ("--box", f"{n}={100 * n},300,60,60")]
    done = lamphouse("scan", "1", "scan-1.tif", "--curve", "linear", *boxes, "--box", "aim=500,300,60,60", "--take")
    assert "4 readings taken" in done.stdout
    assert "say --scanner" in lamphouse("scan", "1", check=2).stderr
