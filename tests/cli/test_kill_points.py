"""A short form of tests/benchmarks/kill_points.py: any moment, app or keeper or both."""

import random
from pathlib import Path

import pytest

from tests.tools.kill import kill_once

SLOW_MACHINE_MS = 25.0  # beyond what is claimed: this is not the benchmark, only that nothing is wildly off


@pytest.mark.parametrize("victim", ["app", "keeper", "both"])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_any_moment(tmp_path: Path, victim: str, seed: int) -> None:
    outcome = kill_once(tmp_path / "k", victim, random.Random(seed))
    assert outcome.dark_ms < 500
    assert outcome.off_ms < SLOW_MACHINE_MS
    assert outcome.committed_kept
    if victim != "both":
        assert outcome.width_ms < 1.0
