"""The footswitch's shared vectors against the rules in Python; tests/hil/test_footswitch.py has the firmware's turn."""

from pathlib import Path

import pytest

from tests.keeper.footswitch_vectors import Vector, play, vectors


@pytest.mark.parametrize("vector", vectors(), ids=lambda vector: vector.name)
def test_what_comes_of_it(vector: Vector, tmp_path: Path) -> None:
    assert sorted(play(vector, tmp_path)) == sorted(vector.comes)
