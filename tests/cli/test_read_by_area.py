"""A strip that knows what it is for, waits to be read, and is read into a recipe."""

import json
from fractions import Fraction
from pathlib import Path

import pytest

from tests.conftest import Run
from timer.documents.recipe_file import load_recipe
from timer.notebook.store import Notebook
from timer.plans.strip import strip_plan

THIRDS = ("strip", "--from", "10", "--step", "5/12", "--patches", "3", "--advance", "auto", "--pause", "0", "--speed", "60")
ABOUT = ("--negative", "stair well", "--grade", "2", "--size", "18x24cm", "--aperture", "8", "--paper-name", "warm fibre")


def test_a_sheet_in_thirds_becomes_a_recipe(lamphouse: Run, tmp_path: Path) -> None:
    lamphouse(*THIRDS, *ABOUT)
    (waiting,) = json.loads(lamphouse("strips", "--json").stdout)
    assert (waiting["run"], waiting["negative"]) == (1, "stair well")
    assert waiting["stands"] == "stair well: 18x24cm, f/8, grade 2, 10.0 s"
    made = json.loads(lamphouse("read", "1", "window=3", "wall=1.5", "face=2-3", "--json").stdout)
    assert [way["way"] for way in made["ways"]] == ["burn", "dodge"]
    assert made["ways"][0]["base_s"] == pytest.approx(10 * 2 ** (5 / 24))
    assert "1  20" in lamphouse("strips").stdout  # to look is not to write
    path = tmp_path / "stair.toml"
    out = lamphouse("read", "1", "window=3", "wall=1.5", "face=2-3", "-o", str(path)).stdout
    assert "easier: lowest base, with burns" in out
    recipe = load_recipe(path)
    assert (recipe.title, recipe.negative, recipe.filters.grade) == ("stair well", "stair well", "2")
    assert (recipe.enlargement.sheet, recipe.enlargement.aperture, recipe.paper.name) == ("18x24cm", 8, "warm fibre")
    assert recipe.base_s == pytest.approx(10 * 2 ** (5 / 24), abs=1e-3)
    assert [(b.area, b.stops) for b in recipe.burn] == [("window", Fraction(5, 8)), ("face", Fraction(5, 12))]
    assert "Every test was read" in lamphouse("strips").stdout
    lamphouse("strips", "--again", "1")
    assert "Every test was read" not in lamphouse("strips").stdout
    assert "Every test was read" in lamphouse("strips", "--done", "1").stdout
    assert "exists already" in lamphouse("read", "1", "window=3", "-o", str(path), check=1).stderr
    assert lamphouse("notebook", "find", "stair", "warm").stdout.split()[0] == "1"


def test_the_other_way(lamphouse: Run, tmp_path: Path) -> None:
    lamphouse(*THIRDS)
    path = tmp_path / "stair.toml"
    lamphouse("read", "1", "window=3", "wall=1.5", "--way", "dodge", "-o", str(path), "--title", "Stair")
    recipe = load_recipe(path)
    assert (recipe.title, recipe.base_s) == ("Stair", pytest.approx(10 * 2 ** (5 / 6), abs=1e-3))
    assert [(d.area, d.stops) for d in recipe.dodge] == [("wall", Fraction(-5, 8))]


def test_for_a_recipe_that_there_is(lamphouse: Run, recipe_file: Path, tmp_path: Path) -> None:
    before = load_recipe(recipe_file)
    made = json.loads(lamphouse("strip", "--for", str(recipe_file), "--patches", "3", "--show", "--json").stdout)
    assert made["patches"][1]["seconds"] == pytest.approx(before.base_s)
    assert any(before.title in note for note in made["notes"])
    assert "no test for" in lamphouse("strip", "--for", str(recipe_file), "--paper", "ra4", check=1).stderr


def test_without_a_notebook(lamphouse: Run, tmp_path: Path) -> None:
    path = tmp_path / "stair.toml"
    lamphouse("read", "window=3", "wall=1.5", "base=2", "--from", "10", "--step", "5/12", "--patches", "3", "-o", str(path))
    recipe = load_recipe(path)
    assert recipe.base_s == pytest.approx(10 * 2 ** (5 / 12), abs=1e-3)
    assert [(d.area, d.stops) for d in recipe.dodge] == [("wall", Fraction(-5, 24))]
    assert [(b.area, b.stops) for b in recipe.burn] == [("window", Fraction(5, 12))]


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("window=9", "--from", "8"), 1, "not on a strip of 5"),
        (("window=", "--from", "8"), 2, "not a place on a strip"),
        (("=3", "--from", "8"), 2, "names no area"),
        (("a=3", "a=4", "--from", "8"), 1, "read twice"),
        (("base=3", "rest=4", "--from", "8"), 1, "both mean the picture as a whole"),
        (("12", "window=3", "--from", "8"), 2, "not both"),
        (("12",), 2, "lamphouse read 12 window=4"),
        (("3", "4", "--from", "8"), 2, "is no reading"),
        (("window=3",), 1, "no notebook"),
        (("x", "window=3"), 2, "no run's number"),
        (("3", "--from", "8", "--way", "burn"), 2, "made of areas"),
        (("12", "a=2", "--step", "1/6"), 2, "has its own patches; --step and --patches are for one made --from or --around"),
        (("12", "a=2", "--patches", "3"), 2, "has its own patches"),
        (("a=2", "base=3", "--from", "8", "--way", "dodge"), 1, "one way only"),
    ],
)
def test_what_cannot_be_read_is_said(lamphouse: Run, arguments: tuple[str, ...], code: int, says: str) -> None:
    assert says in lamphouse("read", *arguments, check=code).stderr


def test_a_print_is_no_strip_and_a_torn_one_is_not_read(lamphouse: Run, home: Path, recipe_file: Path) -> None:
    lamphouse("print", str(recipe_file), "--advance", "auto", "--pause", "0", "--speed", "200")
    assert "is no test" in lamphouse("read", "1", "window=2", check=1).stderr
    assert "is no test" in lamphouse("strips", "--done", "1", check=1).stderr
    with Notebook(home / "notebook.db") as notebook:
        notebook.begin_run(strip_plan(3.0, Fraction(1, 3), 3, "cover"))
    assert "did not have all its light" in lamphouse("read", "2", "window=2", check=1).stderr
    assert "Every test was read" in lamphouse("strips").stdout


def test_dry_down_is_taken_once(lamphouse: Run, tmp_path: Path) -> None:
    """A test has the light that the recipe says; only the print is shortened. Read as it is, it changes nothing."""
    path, read = tmp_path / "stair.toml", tmp_path / "read.toml"
    path.write_text('recipe = 1\ntitle = "Stair"\nbase_s = 10.0\ndry_down_percent = 10\n[paper]\nkind = "bw"\n')
    made = lamphouse("strip", "--for", str(path), "--step", "1/3", "--patches", "3", *THIRDS[7:])
    assert "read it wet: the print will have 10 % less" in made.stdout
    lamphouse("read", "1", "base=2", "-o", str(read))
    assert load_recipe(read).base_s == pytest.approx(10.0, abs=1e-3)
    assert "9.00 s" in lamphouse("print", str(read), "--show").stdout
