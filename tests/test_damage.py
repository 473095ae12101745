"""Damaged recipes and damaged exports: one sentence each, nothing lost."""

import random
from fractions import Fraction
from pathlib import Path

from timer.errors import LamphouseError
from timer.notebook import backup
from timer.notebook.store import Notebook
from timer.plan import print_plan, strip_plan
from timer.recipe import parse_recipe

EXAMPLE = Path(__file__).parent.parent / "timer" / "example.toml"


def test_three_thousand_damaged_recipes() -> None:
    chance = random.Random(11)
    text = EXAMPLE.read_text()
    for _ in range(3000):
        data = list(text)
        for _ in range(chance.randint(1, 4)):
            at = chance.randrange(len(data))
            data[at : at + chance.randint(0, 4)] = chance.choices('\n ="[]{}.,-/0139aeé\x00', k=chance.randint(0, 3))
        try:
            print_plan(parse_recipe("".join(data), "r.toml"))
        except LamphouseError as error:
            assert str(error).startswith("r.toml")


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
