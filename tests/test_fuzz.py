"""A small run of ``python -m tests.benchmarks.fuzz``: whatever is handed in, a result or one sentence."""

import pytest

from tests.benchmarks.fuzz import LARGEST, MOST_MB, run


@pytest.mark.parametrize("kind", LARGEST)
def test_a_result_or_one_sentence(kind: str) -> None:
    out = run(kind, {"screens": 1}.get(kind, 60), seed=2)
    assert out.failed == []
    assert out.commands > 0
    assert 0 < out.mb < MOST_MB
