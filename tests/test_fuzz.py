"""A small run of ``python -m tests.benchmarks.fuzz``: whatever is handed in, a result or one sentence."""

import pytest

from tests.benchmarks.fuzz import LARGEST, MAX_MB, run

FEW = {"files": 60, "books": 6, "lines": 60, "measured": 60, "databases": 5, "screens": 1}


@pytest.mark.parametrize("kind", LARGEST)
def test_a_result_or_one_sentence(kind: str) -> None:
    out = run(kind, FEW[kind], seed=2)
    assert out.failed == []
    assert out.commands > 0
    assert 0 < out.mb < MAX_MB
