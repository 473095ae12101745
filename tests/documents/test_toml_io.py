"""TOML that costs a parser minutes or gigabytes is refused before it is parsed; all other TOML is read as it is."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fuzz.files import BOMBS, EXAMPLE, FULL
from timer.documents.toml_io import load_toml
from timer.errors import LamphouseError

PIECES = [
    'k{n} = """y"""', 'k{n} = """y""""', 'k{n} = """y"""""', "k{n} = '''y'''", "k{n} = '''y''''", "k{n} = '''y'''''",
    'k{n} = "\\\\"', 'k{n} = "\\""', 'k{n} = """\\""""', 'k{n} = """\\\\"""', "k{n} = '\\'", "# ' \"", "# '''", 'k{n} = "#"',
    "k{n} = ['''a''', 'b', \"c\", \"\"\"d\"\"\"] # '", "k{n} = {{ a = '}}', b = \"{{\" }}", "k{n} = [\n 1, # ]\n 2 ]", "'k.{n}' = 1",
    '"k\\"{n}" = 1', "k{n} = ''", 'k{n} = ""', 'k{n} = """"""', "k{n} = ''''''", "k{n} = 1.5", "k{n} = 1979-05-27T07:32:00.5Z",
    "[t{n}]", "[[a{n}]]", "k{n}.a.b = 1", "",
]  # fmt: skip
DEEP = ["z" + ".z" * 9 + " = 1", "[z" + ".z" * 9 + "]", "z = " + "[" * 9 + "]" * 9, "z = { z = 1, y" + ".y" * 9 + " = 1 }"]
documents = st.lists(st.sampled_from(PIECES), max_size=6).map(
    lambda pieces: "\n".join(piece.format(n=n) for n, piece in enumerate(pieces))
)


@given(documents)
def test_ordinary_documents_are_read_as_they_are(text: str) -> None:
    assert load_toml(text, "d") == tomllib.loads(text)


@given(documents, st.sampled_from(DEEP))
def test_no_string_or_comment_hides_what_is_deep(text: str, deep: str) -> None:
    tomllib.loads(f"{text}\n{deep}")  # it is TOML
    with pytest.raises(LamphouseError, match=f"line {text.count(chr(10)) + 2}: names and brackets"):
        load_toml(f"{text}\n{deep}", "d")


@given(st.text(alphabet="a.=[]{}\"'#\\\n, 1", max_size=80))
def test_any_text_is_data_or_a_sentence(text: str) -> None:
    try:
        found = load_toml(text, "d")
    except LamphouseError as error:
        assert str(error).startswith("d: ")
    else:
        assert found == tomllib.loads(text)


def test_documents_of_ours_pass() -> None:
    for text in (EXAMPLE, FULL):
        assert load_toml(text, "d") == tomllib.loads(text)


@pytest.mark.parametrize("text", BOMBS, ids=range(len(BOMBS)))
def test_no_bomb_goes_off(text: str) -> None:
    try:
        load_toml(text, "d")
    except LamphouseError as error:
        assert str(error).isprintable()
        assert len(str(error)) < 700


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("x = 1" + "0" * 5000, "a number too big"),
        ("x = 0x8000000000000000", "x: a number too big"),
        ("x = [1, nan]", r"x 2: must be a plain number"),
        ("x = 1e999", "x: must be a plain number"),
        ('x.y = "A\\u001bB"', r"x.y: has a control character \(U\+001B\)"),
        ('x = "A\\nB"', "x: has a line break"),
        ('x = "A\\tB"', "x: has a tab"),
        ('notes = "A\\nB\\u202e"', r"notes: has a control character \(U\+202E\)"),
        ('"A\\u0007" = 1', "a key: has a control character"),
    ],
)
def test_what_no_document_of_ours_has(text: str, says: str) -> None:
    with pytest.raises(LamphouseError, match=says):
        load_toml(text, "d")


def test_notes_may_have_lines() -> None:
    assert load_toml('notes = "A\\n\\tB"', "d") == {"notes": "A\n\tB"}


def test_a_text_that_is_not_closed_is_said_in_words() -> None:
    with pytest.raises(LamphouseError, match=r"x: not valid TOML: a line ends within quotes \(at line 1, column 11\)"):
        load_toml('name = "ab\nc = 1\n', "x")
