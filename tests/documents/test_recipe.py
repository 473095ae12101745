import contextlib
from fractions import Fraction
from pathlib import Path

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.documents.recipe import Recipe
from timer.documents.recipe_file import load_recipe, parse_recipe
from timer.documents.recipe_schema import recipe_schema
from timer.errors import LamphouseError

HEAD = 'recipe = 1\ntitle = "Gate"\nbase_s = 16\n'
PAPER = '[paper]\nkind = "bw"\n'
GOOD = HEAD + PAPER


def test_the_least_recipe() -> None:
    recipe = parse_recipe(GOOD)
    assert (recipe.base_s, recipe.paper.kind, recipe.dodge) == (16, "bw", ())


@pytest.mark.parametrize(
    ("written", "stops"),
    [('"1/3"', "1/3"), ('"-1/2"', "-1/2"), ("0.25", "1/4"), ('"1 1/3"', "4/3"), ("1", "1")],
)
def test_stops_stay_exact(written: str, stops: str) -> None:
    recipe = parse_recipe(GOOD + f'[[dodge]]\narea = "gate"\nstops = {written}\n')
    assert recipe.dodge[0].stops == Fraction(stops)


FAULTS = [
    ("title = 3", "", r"must be text in quotes, not a whole number|missing"),
    (HEAD.replace("title", "titel"), PAPER, r"titel: unknown key; did you mean 'title'\?"),
    (HEAD, PAPER + '[[dodge]]\narea = "gate"\nstop = 1\n', r"dodge 1, stop: unknown key; did you mean 'stops'\?"),
    (HEAD, PAPER + '[[burn]]\narea = "sky"\nseconds = 3\nfilters = { grad = "2" }\n', r"burn 1, filters\.grad: unknown key; did you mean 'grade'"),
    (HEAD.replace("16", "-1"), PAPER, "base_s"),
    (HEAD.replace("16", "nan"), PAPER, "base_s"),
    (HEAD.replace("16", "inf"), PAPER, "base_s"),
    (HEAD.replace("16", '"long"'), PAPER, "base_s: must be a number, not text"),
    (HEAD.replace("recipe = 1", "recipe = 2"), PAPER, "recipe: "),
    (HEAD, '[paper]\nkind = "glass"\n', r"paper\.kind: "),
    (HEAD, "", "the key paper is missing"),
    (HEAD, PAPER + '[[dodge]]\narea = "gate"\nstops = "banana"\n', r"dodge 1, stops: 'banana' is not an amount"),
    (HEAD, PAPER + '[[dodge]]\narea = "gate"\nstops = 0\n', r"dodge 1, stops: a dodge of 0"),
    (HEAD, PAPER + '[[burn]]\narea = "sky"\nstops = "-1/2"\n', r"burn 1, stops: a burn adds light"),
    (HEAD, PAPER + '[[burn]]\narea = "sky"\n', r"burn 1: give either stops"),
    (HEAD, PAPER + '[[burn]]\narea = "sky"\nstops = 1\nfilters = { grade = "5" }\n', r"burn 1: stops do not compare across filters"),
    (HEAD, PAPER + '[[burn]]\narea = "sky"\nseconds = 4\n', r"burn 1: a burn in seconds needs filters"),
    (HEAD, PAPER + '[filters]\ngrade = "7"\n', r"filters\.grade: '7' is not a grade"),
    (HEAD, PAPER + '[filters]\ngrade = "2"\nm = 20\n', r"filters: give a grade or a c m y pack"),
    (HEAD, '[paper]\nkind = "ra4"\n[filters]\ngrade = "2"\n', r"filters\.grade: contrast grades are for black-and-white"),
    (HEAD + "dry_down_percent = 8\n", '[paper]\nkind = "ra4"\n', "dry_down_percent: dry-down is for black-and-white"),
    (HEAD + 'order = ["sk"]\n', PAPER + '[[burn]]\narea = "sky"\nstops = 1\n', r"order 1: 'sk' is no dodge or burn here; did you mean 'sky'"),
    (HEAD, PAPER + '[[burn]]\narea = "sky"\nstops = 1\n[[burn]]\narea = "sky"\nstops = 1\n', "burn: area 'sky' is named twice"),
    (HEAD, PAPER + '[[dodge]]\narea = "a"\nstops = 1\n[[dodge]]\narea = "b"\nstops = 2\n', r"dodge: the dodges .* aperture"),
    (HEAD, PAPER + "[edges]\nstops = 0\n", r"edges\.stops"),
    (HEAD, PAPER + '[edges]\nstops = 1\nwhich = ["left", "left"]\n', r"edges\.which"),
    (HEAD, PAPER + '[edges]\nstops = 1\nwhich = ["middle"]\n', r"edges\.which 1: 'middle' is not one of top, bottom, left, right"),
]  # fmt: skip


@pytest.mark.parametrize(("head", "rest", "says"), FAULTS)
def test_a_fault_is_one_sentence_with_its_path(head: str, rest: str, says: str) -> None:
    with pytest.raises(LamphouseError, match=says) as caught:
        parse_recipe(head + rest, "gate.toml")
    assert str(caught.value).startswith("gate.toml: ")
    assert "\n" not in str(caught.value)


@given(st.text(max_size=200))
def test_any_text_is_a_recipe_or_a_sentence(text: str) -> None:
    for tried in (text, GOOD + text):
        with contextlib.suppress(LamphouseError):
            parse_recipe(tried)


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(LamphouseError, match="no such file"):
        load_recipe(tmp_path / "none.toml")
    with pytest.raises(LamphouseError, match="a folder"):
        load_recipe(tmp_path)
    (tmp_path / "raw.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(LamphouseError, match="UTF-8"):
        load_recipe(tmp_path / "raw.toml")


def test_the_schema_in_the_documents_is_the_programs() -> None:
    kept = Path(__file__).parents[2] / "docs" / "recipe.schema.json"
    assert msgspec.json.decode(kept.read_bytes()) == msgspec.json.decode(msgspec.json.encode(recipe_schema()))
    assert set(recipe_schema()["$defs"]["Recipe"]["properties"]) == {f.name for f in msgspec.structs.fields(Recipe)}


@pytest.mark.parametrize(
    ("head", "rest", "says"),
    [
        (HEAD, '[paper]\nkind = "silver"\n', "paper.kind: 'silver' is not one of bw, ra4, pan"),
        (
            HEAD,
            '[paper]\nkind = "ra4"\n[filters]\nhead = "x"\n',
            "filters.head: 'x' is not one of cp, dichroic, additive, tricolour",
        ),
        (HEAD.replace("16", "0"), PAPER, "base_s: must be a number, more than 0"),
        (HEAD.replace('"Gate"', '""'), PAPER, "title: must be text in quotes of 1 or more letters"),
        (HEAD, PAPER + "[enlargement]\nfill = 3\n", "enlargement.fill: must be true or false, not a whole number"),
        (HEAD, "paper = 3\n", "paper: must be a table of keys, not a whole number"),
        (HEAD, PAPER + '[[burn]]\narea = "sky"\nseconds = "x"\n', "burn 1, seconds: must be a number, not text"),
    ],
)
def test_what_where_and_what_would_be_right_in_plain_words(head: str, rest: str, says: str) -> None:
    with pytest.raises(LamphouseError) as error:
        parse_recipe(head + rest)
    assert str(error.value) == f"recipe: {says}"


def test_lights_are_set_with_their_scale() -> None:
    from timer.craft.lights import Lights
    from timer.documents.recipe import Filters
    from timer.documents.recipe_light import setting_of, with_setting

    levels = Filters(head="additive", red=1, green=1, blue=1)
    assert setting_of(with_setting(levels, Lights(30, 24, 20, 12))) == Lights(30, 24, 20, 12)
