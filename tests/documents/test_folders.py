"""Where everything is kept, however it is named."""

import os
from pathlib import Path

import pytest

from timer.app.lamp import keeper_config
from timer.documents.folders import folder
from timer.documents.settings import Settings
from timer.errors import KeeperError
from timer.keeper.config import Config
from timer.keeper.runtime import runtime_dir


def test_one_folder_is_one_lamp_however_it_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "home").mkdir()
    os.symlink(tmp_path / "home", tmp_path / "link")
    monkeypatch.chdir(tmp_path)
    keys = set()
    for name in (str(tmp_path / "home"), "home", "./home", "link"):
        monkeypatch.setenv("LAMPHOUSE_HOME", name)
        assert folder("state").is_absolute()
        keys.add(Config(str(folder("state"))).lamp_key)
    assert len(keys) == 1


def test_a_runtime_folder_is_named_in_full(tmp_path: Path) -> None:
    with pytest.raises(KeeperError, match="LAMPHOUSE_RUNTIME=here: write the whole path"):
        runtime_dir(environ={"LAMPHOUSE_RUNTIME": "here"})
    assert runtime_dir(environ={"LAMPHOUSE_RUNTIME": str(tmp_path / "run")}) == tmp_path / "run"


def test_a_wire_is_the_same_for_a_keeper_that_runs_elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LAMPHOUSE_WIRE", "pedal")
    assert keeper_config(Settings()).wire == str(tmp_path / "pedal")
    monkeypatch.delenv("LAMPHOUSE_WIRE")
    assert keeper_config(Settings()).wire == ""
