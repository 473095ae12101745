"""A short form of tests/benchmarks/kill_points.py: any moment, any process or pair of them."""

import random
from pathlib import Path

import pytest

from tests.tools.kill import AROUND, PAIRS, PROCESSES, Frames, fault_once

SLOW_MACHINE_MS = 25.0  # beyond what is claimed: this is not the benchmark, only that nothing is wildly off


@pytest.mark.parametrize("victim", [*PROCESSES, *PAIRS])
@pytest.mark.parametrize("stop_s", [0.0, 1.5])
def test_any_moment(tmp_path: Path, home: Path, victim: str, stop_s: float) -> None:
    outcome = fault_once(tmp_path / "k", victim, random.Random(f"{victim}{stop_s}"), stop_s=stop_s)
    assert outcome.dark_ms < (1500 if stop_s else 500)
    assert outcome.off_ms < SLOW_MACHINE_MS
    assert outcome.committed_kept
    assert not outcome.finished_wrongly


@pytest.mark.parametrize("victim", AROUND)
def test_any_moment_of_what_is_around_a_run(tmp_path: Path, home: Path, victim: str) -> None:
    """And what is missing is given. The notebook is held for longer than a program of ours waits for it."""
    stop_s = 6.0 if victim == "lock" else 0.0
    outcome = fault_once(tmp_path / "k", victim, random.Random(victim), stop_s=stop_s, resumed=True)
    assert outcome.off_ms < SLOW_MACHINE_MS
    assert outcome.sum_off_ms is None or outcome.sum_off_ms < SLOW_MACHINE_MS
    assert outcome.committed_kept
    assert not outcome.finished_wrongly
    assert not outcome.hung


@pytest.mark.parametrize(
    ("lamp", "victim"), [("simulated", ""), ("simulated", "keeper"), ("gpio", "app"), ("controller", "app")]
)
def test_any_moment_on_a_link_that_loses_and_doubles(tmp_path: Path, home: Path, lamp: str, victim: str) -> None:
    """And what is missing is given: all the light there was is what was asked."""
    chance = random.Random(f"{lamp}{victim}")
    outcome = fault_once(tmp_path / "k", victim, chance, lamp=lamp, frames=Frames(0.12, 0.1), resumed=True)
    assert outcome.off_ms < SLOW_MACHINE_MS
    assert outcome.sum_off_ms is None or outcome.sum_off_ms < SLOW_MACHINE_MS
    assert outcome.committed_kept
    assert not outcome.finished_wrongly
    assert not outcome.hung
