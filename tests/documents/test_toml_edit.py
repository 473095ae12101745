"""A number in a recipe changed by its place in the document, every other byte as the printer wrote it."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import write_recipe
from timer.app import writing
from timer.app.jobs import load_job
from timer.app.picks import Pick
from timer.app.strip_choice import StripChoice
from timer.documents.recipe_file import parse_recipe
from timer.documents.toml_edit import with_number

NOTES = '''# base_s = 3
recipe = 1
title = "base_s = 9 # no"
notes = """
base_s = 99
[x]
"""
"base_s"   =  1_6.0   # the base
[paper]
kind = "bw"  # base_s = 5
'''


@pytest.mark.parametrize(
    ("text", "changed"),
    [
        ("base_s=1", "base_s=12.50"),
        ("base_s = 0x10\r\na=1\r\n", "base_s = 12.50\r\na=1\r\n"),
        ("'base_s' = 2 # why", "'base_s' = 12.50 # why"),
        ("a = [\n1,\n2]\nbase_s = 4", "a = [\n1,\n2]\nbase_s = 12.50"),
        ("a = { base_s = 3 }\nbase_s = 4", "a = { base_s = 3 }\nbase_s = 12.50"),
        (NOTES, NOTES.replace("1_6.0", "12.50")),
    ],
)
def test_that_number_alone(text: str, changed: str) -> None:
    assert with_number(text, "base_s", "12.50") == changed


@pytest.mark.parametrize("text", ["", "a = 1", "[a]\nbase_s = 1", "base_s.x = 1", "[base_s]\nx = 1"])
def test_where_it_is_not(text: str) -> None:
    with pytest.raises(ValueError, match="base_s"):
        with_number(text, "base_s", "12.50")


@given(
    st.lists(
        st.sampled_from(["base_s = 3", "# base_s", '"""', "notes = '''", "'''", "[t]", "x = 1", "a = [", "]", "b = '#'", ""])
    )
)
def test_any_document(lines: list[str]) -> None:
    text = "\n".join(lines)
    try:
        before = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    if "base_s" not in before:
        with pytest.raises(ValueError, match="base_s"):
            with_number(text, "base_s", "7.25")
        return
    assert tomllib.loads(with_number(text, "base_s", "7.25")) == before | {"base_s": 7.25}


def test_a_base_taken_keeps_notes_link_and_mode(home: Path) -> None:
    path = write_recipe(home / "shelf" / "quay.toml", notes="one line\nbase_s = 3\nlast line")
    path.chmod(0o640)
    (home / "recipes").mkdir()
    (home / "recipes" / "quay.toml").symlink_to(path)
    before = path.read_text()
    strip = StripChoice(made_for=load_job(home / "recipes" / "quay.toml")).job()
    job, _ = writing.take(strip, Pick(12.5))
    assert job.recipe
    assert job.recipe.base_s == 12.5
    assert path.read_text() == before.replace("base_s = 16.0", "base_s = 12.50")
    assert (home / "recipes" / "quay.toml").is_symlink()
    assert path.stat().st_mode & 0o777 == 0o640
    assert parse_recipe(path.read_text()).notes == "one line\nbase_s = 3\nlast line"
