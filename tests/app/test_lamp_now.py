"""The lamp as it is seen without touching it: what its last exposure gave is a range until somebody saw its end."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from timer.app.lamp import keeper_config
from timer.app.lamp_now import lamp_status
from timer.documents.settings_file import load_settings
from timer.keeper.local.memory import BY_NEXT, Memory, memory_file, prove
from timer.keeper.runtime import runtime_dir

MS = 1_000_000


@pytest.fixture
def kept(home: Path) -> Iterator[Memory]:
    memory = Memory(memory_file(runtime_dir(), keeper_config(load_settings()).lamp_key))
    memory.take()
    yield memory
    memory.path.unlink()
    memory.close()


def test_light_that_is_on_is_so_much_so_far(kept: Memory) -> None:
    kept.begin(5, 2_000_000, 1000 * MS, 1000)
    kept.shine(3000 * MS, 1000 * MS)
    kept.lit(1000 * MS)
    kept.alive(1300 * MS, exposing=True)
    now = lamp_status()
    assert (now.lit, now.ordered_s, now.given_s) == (True, 2.0, (0.3, None))


def test_light_whose_end_nobody_saw_is_a_range(kept: Memory) -> None:
    kept.begin(5, 2_000_000, 1000 * MS, 1000)
    kept.lit(1000 * MS)
    kept.alive(1300 * MS, exposing=True)
    prove(kept.words, BY_NEXT)
    least, most = lamp_status().given_s
    assert least == 0.3
    entry = kept.record(5)
    assert entry
    assert most == (entry.proven_ns - 1000 * MS) // 1000 / 1e6


def test_light_that_was_seen_whole_is_a_value(kept: Memory) -> None:
    kept.begin(5, 2_000_000, 1000 * MS, 1000)
    kept.lit(1000 * MS)
    kept.dark(3000 * MS, 0, 0)
    assert lamp_status().given_s == (2.0, 2.0)
