from pathlib import Path

import pytest
from textual import _wait


@pytest.fixture(autouse=True)
def elsewhere(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Recipes are looked for in the folder one stands in: stand in an empty one. No voice in tests.

    After each key Textual's pilot waits until the app rests: it is asked each 10 ms instead of each 20.
    """
    monkeypatch.setattr(_wait, "SLEEP_GRANULARITY", 0.01)
    empty = tmp_path / "empty"
    empty.mkdir()
    monkeypatch.chdir(empty)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLORTERM", "truecolor")
    (home / "settings.toml").write_text("speech = false\n")
