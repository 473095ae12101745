import json
import socket
from pathlib import Path

import pytest

from tests.conftest import Run
from timer.app.doctor import examine
from timer.documents.settings import Pins, Settings
from timer.keeper.runtime import in_memory


def found(root: Path, settings: Settings, lamp: str) -> dict[str, tuple[str, str]]:
    return {f.what: (f.state, f.says) for f in examine(settings, lamp=lamp, sys_root=root)}


def test_a_machine_that_is_not_fit(home: Path, tmp_path: Path) -> None:
    (tmp_path / "class" / "backlight" / "panel").mkdir(parents=True)
    (tmp_path / "class" / "backlight" / "panel" / "brightness").write_text("9")
    rows = found(tmp_path, Settings(pins=Pins(lamp=22, footswitch=22)), "gpio")
    assert rows["pins"] == ("fault", "two things are on one pin; give each its own in [pins] of the settings")
    assert rows["backlight"][0] == "good"
    assert rows["leds"][0] == "note"
    assert rows["screen fog"][0] == "note" and all(word in rows["screen fog"][1] for word in ("coin test", "colour paper"))
    assert rows["outputs"][0] == "fault"  # there are no GPIO lines here to try it on
    assert "pulled up" in found(tmp_path, Settings(pins=Pins(lamp=4)), "gpio")["pins"][1]


def test_the_keepers_memory_is_on_no_disk(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert found(tmp_path, Settings(), "simulated")["keeper's memory"][0] == "good"
    monkeypatch.setenv("LAMPHOUSE_RUNTIME", str(tmp_path / "asked"))
    state, says = found(tmp_path, Settings(), "simulated")["keeper's memory"]
    assert (state, "on a disk" in says) == ("good" if in_memory(tmp_path) else "fault", not in_memory(tmp_path))


def test_a_controller_that_is_not_there(home: Path, tmp_path: Path) -> None:
    rows = found(tmp_path, Settings(port=str(tmp_path / "ttyUSB9")), "controller")
    assert rows["serial port"][0] == "fault"
    assert rows["keeper"][0] == "fault"
    assert found(tmp_path, Settings(), "controller")["serial port"][0] == "fault"


def test_at_the_command_line(lamphouse: Run) -> None:
    assert "keeper" in lamphouse("doctor").stdout
    assert all(set(row) == {"what", "state", "says"} for row in json.loads(lamphouse("doctor", "--json").stdout))
    assert "fault" in lamphouse("doctor", "--lamp", "controller", check=1).stdout


def test_the_watchdog_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from tui.watchdog import notify, period_s

    notify("READY=1")  # no systemd: nothing
    server = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
    server.bind(str(tmp_path / "n"))
    monkeypatch.setenv("NOTIFY_SOCKET", str(tmp_path / "n"))
    monkeypatch.setenv("WATCHDOG_USEC", "9000000")
    notify("WATCHDOG=1")
    assert server.recv(99) == b"WATCHDOG=1"
    assert period_s() == 3
    server.close()


def test_the_unit_goes_dark_after_any_end() -> None:
    unit = (Path(__file__).parents[2] / "hardware" / "systemd" / "lamphouse.service").read_text()
    for line in ("ExecStopPost=", "lamp off", "WatchdogSec=", "Type=notify"):
        assert line in unit
