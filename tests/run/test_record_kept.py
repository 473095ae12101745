"""What a run says of itself when what should keep its record is taken away in the middle of light."""

import os
import shutil
import signal
from pathlib import Path

import pytest

from tests.run.test_session import PLAN, Stage
from tests.run.test_session import stage as stage  # the fixture
from tests.tools.witness import Witness
from timer.errors import NotebookError
from timer.notebook.store import Notebook
from timer.run import states

EXPOSURES = sum(step.do == "expose" for step in PLAN.steps)


def _last_light(at: Stage) -> None:
    place = 0
    for _ in range(EXPOSURES):
        place = at.until(states.State.LIT, place)


@pytest.mark.parametrize("how", ["deleted", "replaced"])
def test_a_notebook_that_goes_in_the_last_light_is_no_finished_run(
    stage: type[Stage], witness: Witness, home: Path, how: str
) -> None:
    """After its intent nothing more was to be noted but its facts: they go where nobody will ever find them."""
    at = stage(auto=0.01)  # type: ignore[call-arg]
    _last_light(at)
    path = home / "notebook.db"
    if how == "replaced":
        shutil.copy(path, home / "copy.db")
    path.unlink()
    if how == "replaced":
        (home / "copy.db").rename(path)
    result = at.end()
    assert len(witness.exposures_ns()) == EXPOSURES
    assert result.state is states.State.FAILED
    assert "deleted, moved or replaced" in result.says


def test_a_fact_that_cannot_be_written_is_no_finished_run(
    stage: type[Stage], witness: Witness, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = stage(auto=0.01)  # type: ignore[call-arg]
    _last_light(at)

    def fact(*_: object) -> None:
        raise NotebookError("the disk is full")

    monkeypatch.setattr(Notebook, "fact", fact)
    result = at.end()
    assert result.state is states.State.FAILED
    assert "every exposure was given" in result.says
    assert "the disk is full" in result.says


def test_a_keeper_that_dies_without_a_folder_for_its_memory_ends_the_run(
    stage: type[Stage], witness: Witness, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As at a log-out, and what has come in its place is no folder: nobody knows the light, and the run must end."""
    runtime = tmp_path / "runtime"
    monkeypatch.setenv("LAMPHOUSE_RUNTIME", str(runtime))
    at = stage(auto=0.01)  # type: ignore[call-arg]
    at.until(states.State.LIT)
    assert at.session._keeper
    process = at.session._keeper.hello.process
    shutil.rmtree(runtime)
    runtime.write_text("")
    os.kill(process, signal.SIGKILL)
    witness.wait(False)
    result = at.end()
    assert result.state is states.State.FAILED
    (row,) = result.exposures
    assert (row.high_us, row.why) == (None, "unseen")
