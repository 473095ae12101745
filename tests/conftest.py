import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, settings

from tests.tools import leaks
from tests.tools.witness import Witness

pytest.register_assert_rewrite("timer.testing.conformance")

# A hundred cases of each property, also in CI; --hypothesis-profile=thorough --timeout=0 draws 10,000 (some minutes a file).
settings.register_profile("usual", deadline=None)
settings.register_profile("thorough", max_examples=10_000, deadline=None, suppress_health_check=[HealthCheck.too_slow])
# Which case fails is nothing that a mutation run asks for: no shrinking.
settings.register_profile(
    "mutation", max_examples=20, deadline=None, derandomize=True, database=None, phases=(Phase.explicit, Phase.generate)
)
settings.load_profile("usual")

LONG = (
    "test_room_light.py",
    "test_terminal.py",
    "test_documents.py",
    "test_story.py",
    "test_whole_evening.py",
    "test_paper.py",
    "test_look.py",
    "test_faults.py",
    "test_kill_points.py",
    "test_controller.py",
    "test_paper_curve.py",
    "test_scan.py",
    "test_timing.py",
    "test_races.py",
)
"""Files that take half a minute, the longest first. Begun last, one of them would be waited for alone."""

Run = Callable[..., "subprocess.CompletedProcess[str]"]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Long files first; the others in their order. Each file stays whole (``--dist loadfile``)."""
    rank = {name: n for n, name in enumerate(LONG)}
    items.sort(key=lambda item: rank.get(item.path.name, len(LONG)))


@pytest.fixture(autouse=True)
def _leaves_nothing_behind() -> Iterator[None]:
    """No test leaves a thread, a process, a socket or a file open."""
    before = leaks.around()
    yield
    found = leaks.left_behind(before)
    assert not found, f"left behind: {', '.join(found)}"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own for settings, notebook and keeper."""
    folder = tmp_path / "home"
    folder.mkdir()
    monkeypatch.setenv("LAMPHOUSE_HOME", str(folder))
    monkeypatch.delenv("GPIOZERO_PIN_FACTORY", raising=False)
    return folder


@pytest.fixture
def witness(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Witness]:
    seen = Witness(tmp_path / "w")
    monkeypatch.setenv("LAMPHOUSE_WIRE", str(seen.path))
    yield seen
    seen.close()


@pytest.fixture
def lamphouse(home: Path) -> Run:
    """Run the command as a person would, in a process of its own."""

    def run(*arguments: str, stdin: str = "", check: int | None = 0, **env: str) -> "subprocess.CompletedProcess[str]":
        done = subprocess.run(
            [sys.executable, "-m", "timer.cli", *arguments],
            input=stdin, capture_output=True, text=True, timeout=60, env={**os.environ, **env},
        )  # fmt: skip
        assert "Traceback" not in done.stderr, done.stderr
        if check is not None:
            assert done.returncode == check, done.stderr + done.stdout
        return done

    return run


@pytest.fixture
def recipe_file(tmp_path: Path) -> Path:
    """A short print with a dodge, a burn and a filter change."""
    path = tmp_path / "gate.toml"
    path.write_text(
        """
recipe = 1
title = "Gate in the rain"
base_s = 2.0
[paper]
kind = "bw"
[filters]
grade = "3"
[[dodge]]
area = "gate"
stops = "1/3"
[[burn]]
area = "sky"
stops = "1/2"
[[burn]]
area = "puddle"
seconds = 1.5
filters = { grade = "00" }
"""
    )
    return path


def write_recipe(path: Path, title: str = "Quay", notes: str = "") -> Path:
    """A recipe whose notes come before its base."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(
        f'recipe = 1\ntitle = "{title}"\nnotes = """\n{notes}"""\nbase_s = 16.0 # of the day\n[paper]\nkind = "bw"\n'
    )
    return path
