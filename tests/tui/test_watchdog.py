"""What the machine is told of our life, and keys that do not wait for a busy screen."""

import socket
import time
from pathlib import Path
from types import SimpleNamespace

import pytest
from textual.events import Key

from tests.tools.terminal import DEPTHS, terminal
from tests.tui.stage import stage, until
from timer.app.darkroom import LATELY_S
from timer.keeper.host.client import Keeper
from tui.driver import DARK_KEYS, RoomDriver


def test_systemd_is_told_while_screen_and_keeper_live(home: Path, tmp_path: Path) -> None:
    path = tmp_path / "notify"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as told:
        told.bind(str(path))
        told.settimeout(10)
        env = {**DEPTHS["truecolor"], "NOTIFY_SOCKET": str(path), "WATCHDOG_USEC": "600000"}
        with terminal(**env) as term:
            term.shows("get ready")
            assert told.recv(100) == b"READY=1"
            assert told.recv(100) == b"WATCHDOG=1"


async def test_a_keeper_that_does_not_answer_starves_the_watchdog(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async with stage() as (app, pilot):
        fed: list[str] = []
        monkeypatch.setattr("tui.watchdog.notify", fed.append)
        await until(pilot, lambda: app.darkroom._keeper is not None)
        await pilot.pause(0.5)
        app._feed_watchdog()
        assert fed == ["WATCHDOG=1"]
        silent = time.monotonic_ns() - int((LATELY_S + 0.1) * 1e9)
        monkeypatch.setattr(Keeper, "heard_ns", property(lambda self: silent))
        app._feed_watchdog()
        assert fed == ["WATCHDOG=1"]
        with monkeypatch.context() as without:
            without.setattr(app.darkroom, "_keeper", None)  # none to be had, as with a board that is not plugged in
            app._feed_watchdog()
        assert len(fed) == 2


def test_dark_keys_act_on_the_thread_that_reads_them(monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[str] = []
    context = SimpleNamespace(dark_at_once=lambda: sent.append("dark"))
    driver = RoomDriver.__new__(RoomDriver)
    driver._app = context  # type: ignore[assignment]
    monkeypatch.setattr(
        "textual.drivers.linux_driver.LinuxDriver.process_message", lambda self, message: sent.append(message.key)
    )
    for key in (*sorted(DARK_KEYS), "enter"):
        driver.process_message(Key(key, None))
    assert sent == ["dark", "ctrl+c", "dark", "ctrl+q", "dark", "space", "enter"]
