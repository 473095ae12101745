"""``lamphouse correct``: from one print to the next."""

import json
from fractions import Fraction
from pathlib import Path

from tests.conftest import Run
from timer.documents.recipe_file import load_recipe

STAIR = 'recipe = 1\ntitle = "Stair"\nbase_s = 16.0\n[paper]\nkind = "bw"\n[[burn]]\narea = "window"\nstops = "1/3"\n'


def test_one_print_after_another(lamphouse: Run, tmp_path: Path) -> None:
    first, second, third = (tmp_path / f"{n}.toml" for n in range(3))
    first.write_text(STAIR)
    out = lamphouse("correct", str(first), "window +1/3", "floor -1/6", "-o", str(second)).stdout
    assert "window +1/3: burn +1/3, 4.16 s -> burn +2/3, 9.40 s" in out
    made = json.loads(lamphouse("correct", str(second), "window -1/4", "-o", str(third), "--json").stdout)
    assert made["corrections"][0]["given"] == -1 / 6
    assert made["corrections"][0]["turned"] is True
    less = json.loads(lamphouse("correct", str(second), "window -1/12", "--json").stdout)
    assert less["corrections"][0]["given"] == -1 / 12  # less than half is as it was asked
    assert [b.stops for b in load_recipe(third).burn] == [Fraction(1, 2)]
    assert [load_recipe(path).title for path in (second, third)] == ["Stair, corrected", "Stair, corrected 2"]
    assert "Nothing is written" in lamphouse("correct", str(first), "print +1/12").stdout
    assert "exists already" in lamphouse("correct", str(first), "print +1/12", "-o", str(second), check=1).stderr
    assert "write the area, a sign and stops" in lamphouse("correct", str(first), "window", check=2).stderr
    assert first.read_text() == STAIR
