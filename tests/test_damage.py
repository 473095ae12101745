"""Damaged recipes and damaged exports: one sentence each, nothing lost."""

import random
from fractions import Fraction
from pathlib import Path

import msgspec
import pytest

from tests.fuzz.files import EXAMPLE, FULL
from timer.documents.recipe_file import parse_recipe
from timer.errors import LamphouseError
from timer.notebook import backup
from timer.notebook.store import Notebook
from timer.plans.print import print_plan
from timer.plans.strip import strip_plan


@pytest.mark.parametrize("text", [EXAMPLE, FULL], ids=["example", "every key"])
def test_damaged_recipes(text: str) -> None:
    chance = random.Random(11)
    good = bad = 0
    for _ in range(2000):
        data = list(text)
        for _ in range(chance.randint(1, 4)):
            at = chance.randrange(len(data))
            data[at : at + chance.randint(0, 4)] = chance.choices('\n ="[]{}.,-/0139aeé\x00', k=chance.randint(0, 3))
        try:
            plan = print_plan(parse_recipe("".join(data), "r.toml"))
        except LamphouseError as error:
            bad += 1
            assert str(error).startswith("r.toml")
            assert str(error).isprintable()
        else:
            good += 1
            assert 0 < plan.total_light_s < float("inf")
    assert good > 30 < bad


def test_the_damaged_recipe_has_every_key_there_is() -> None:
    """So that the fuzz reaches changeover, edges, flash and whatever is added."""
    recipe = msgspec.to_builtins(parse_recipe(FULL), enc_hook=str)
    empty = [
        key
        for key, value in recipe.items()
        if value in (None, "", [], 0.0, {}) and key not in ("derived", "negative", "picture")
    ]
    assert empty == []


def test_two_hundred_damaged_exports(tmp_path: Path) -> None:
    mine = Notebook(tmp_path / "mine.db")
    for _ in range(5):
        mine.begin_run(strip_plan(8.0, Fraction(1, 3), 3, "cover"))
    backup.export(mine, tmp_path / "whole.db")
    mine.close()
    whole = (tmp_path / "whole.db").read_bytes()
    chance = random.Random(12)
    refused = 0
    for _ in range(200):
        data = bytearray(whole)
        for _ in range(chance.randint(1, 30)):
            data[chance.randrange(len(data))] = chance.randrange(256)
        if chance.random() < 0.3:
            data = data[: chance.randrange(1, len(data))]
        (tmp_path / "bad.db").write_bytes(data)
        target = tmp_path / "mine.db"
        before = target.read_bytes()
        try:
            backup.restore(tmp_path / "bad.db", target)
        except LamphouseError as error:
            refused += 1
            assert "\n" not in str(error)
            assert target.read_bytes() == before
        else:  # what was hit did not matter: a whole notebook all the same, and the old one is kept
            whole_again = Notebook(target)
            assert len(whole_again.runs()) >= 1
            whole_again.close()
            backup.set_aside(target)
            target.write_bytes(before)
    assert refused > 20
