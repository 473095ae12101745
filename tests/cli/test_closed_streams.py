"""Started by a program that has closed its standard streams: nothing is read or said, and the light is given all the same."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.tools.witness import Witness
from timer.notebook.store import Notebook

STRIP = [
    "strip",
    "--from",
    "0.2",
    "--step",
    "1/2",
    "--patches",
    "2",
    "--way",
    "window",
    "--advance",
    "auto",
    "--pause",
    "0.01",
]


@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-", "<&- >&- 2>&-"])
def test_a_run_without_standard_streams(home: Path, witness: Witness, closed: str) -> None:
    command = [sys.executable, "-m", "timer.cli", *STRIP]
    done = subprocess.run(["bash", "-c", f'exec "$@" {closed}', "bash", *command], env=os.environ, timeout=60, check=False)
    assert done.returncode == 0
    assert len(witness.exposures_ns()) == 2
    with Notebook(home / "notebook.db") as notebook:
        assert notebook.run(1).state == "finished"
        assert notebook.agrees(1)
