"""A few of the sessions that tests/benchmarks/paper_out.py has by the hundred."""

import random
from pathlib import Path

import pytest

from tests.tools.story import story


@pytest.mark.parametrize("seed", range(4))
def test_no_light_over_bare_paper_however_it_ends(tmp_path: Path, seed: int) -> None:
    outcome = story(tmp_path / "s", random.Random(seed), most_s=4.0)
    assert outcome.faults == [], (outcome.what, outcome.ended_at)
