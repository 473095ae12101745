"""Where everything is kept, however it is named."""

import os
from pathlib import Path

import pytest

from timer.documents.settings import folder
from timer.keeper.config import Config


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
