"""CGATS.17 text. The grammar is that of Little-CMS src/cmscgats.c; two of the files are published ones."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.documents.cgats import parse
from timer.documents.measured_file import read_samples
from timer.documents.reading import Reading
from timer.errors import LamphouseError

WEDGE = """CGATS.17
ORIGINATOR\t"example"
FILE_DESCRIPTOR\t"paper step wedge"
CREATED\t"2025-01-01"
NUMBER_OF_FIELDS\t5
BEGIN_DATA_FORMAT
SAMPLE_ID\tD_RED\tD_GREEN\tD_BLUE\tD_VIS
END_DATA_FORMAT
NUMBER_OF_SETS\t2
BEGIN_DATA
1\t0.05\t0.06\t0.07\t0.06
2\t2.05\t2.08\t2.01\t2.06
END_DATA
"""
# colord's unit test, "Device Correction Matrix": a real minimal file
COLORD = """CCMX
DESCRIPTOR\t"Device Correction Matrix"
COLOR_REP\t"XYZ"
NUMBER_OF_FIELDS\t3
NUMBER_OF_SETS\t3
BEGIN_DATA_FORMAT
 XYZ_X\tXYZ_Y\tXYZ_Z
END_DATA_FORMAT
BEGIN_DATA
 1.234\t0\t0
 0\t0\t0
 0\t0\t0
END_DATA
"""


def test_a_wedge() -> None:
    found, status, _ = read_samples(WEDGE, "w.txt")
    assert found == [Reading("1", 0.05, 0.06, 0.07, 0.06), Reading("2", 2.05, 2.08, 2.01, 2.06)]
    assert status == ""


def test_colords_file() -> None:
    (table,) = parse(COLORD, "c.txt")
    assert table.fields == ("XYZ_X", "XYZ_Y", "XYZ_Z")
    assert table.rows[0] == ("1.234", "0", "0")
    assert table.headers["DESCRIPTOR"] == "Device Correction Matrix"
    with pytest.raises(LamphouseError, match="sample 1: it reflects nothing"):
        read_samples(COLORD, "c.txt")


def test_what_real_files_do() -> None:
    # counts before, between and after; a comment behind a value; lower case; several tables; the status in the header
    text = (
        'cgats.17\nCREATED "10/17/2005"  # Time: 15:24\nWEIGHTING_FUNCTION "ILLUMINANT, A"\n'
        "begin_data_format\nsample_name d_vis\nend_data_format\nnumber_of_sets 1\nbegin_data\n'white tile' 5e-2\nend_data\n"
        "BEGIN_DATA_FORMAT D_RED SAMPLE_ID END_DATA_FORMAT\nBEGIN_DATA 1.5 a 1.25 b END_DATA\n"
    )
    found, status, _ = read_samples(text, "r.txt")
    assert [(r.sample, r.visual, r.red) for r in found] == [("white tile", 0.05, None), ("a", None, 1.5), ("b", None, 1.25)]
    assert status == "ILLUMINANT, A"


def test_the_formats_own_names_win_over_a_wrong_count() -> None:
    right, _, none = read_samples(WEDGE, "w.txt")
    found, _, notes = read_samples(WEDGE.replace("NUMBER_OF_FIELDS\t5", "NUMBER_OF_FIELDS\t4"), "w.txt")
    assert found == right and none == ()
    assert notes == ("NUMBER_OF_FIELDS says 4 and the format has 5: the format was taken",)


WRONG = [
    ("", "empty"),
    ("CGATS.17\n", "no table"),
    (WEDGE.replace("NUMBER_OF_SETS\t2", "NUMBER_OF_SETS\t3"), "NUMBER_OF_SETS says 3"),
    (WEDGE.replace("2.06\n", "\n"), "do not fill rows"),
    (WEDGE.replace("END_DATA\n", ""), "END_DATA is missing"),
    (WEDGE.replace("0.07", "much"), "sample 1: D_BLUE is 'much'"),
    (WEDGE.replace("0.07", "99"), "from -1 to 6"),
    (WEDGE.replace("\n2\t", "\n1\t"), "stands there twice"),
    (WEDGE.replace('"example"', '"example'), "line 2: a quotation mark"),
    ("CGATS.17\nBEGIN_DATA\n1\nEND_DATA\n", "before their BEGIN_DATA_FORMAT"),
    ("CGATS.17\nBEGIN_DATA_FORMAT\nA\nEND_DATA_FORMAT\n", "a format and no data"),
    ("CGATS\0", "control character"),
    (WEDGE.replace("example", "\x1b[?5h"), "line 2: .* control character"),
    (WEDGE.replace("0.07", "0." + "0" * 100), "from -1 to 6"),
    (WEDGE.replace("\n2\t", "\n" + "2" * 100 + "\t"), "letters long"),
]


@pytest.mark.parametrize(("text", "says"), WRONG)
def test_what_is_malformed_gets_one_sentence(text: str, says: str) -> None:
    with pytest.raises(LamphouseError, match=says) as caught:
        read_samples(text, "w.txt")
    assert str(caught.value).startswith("w.txt")
    assert "\n" not in str(caught.value)


@given(st.text(max_size=300))
def test_any_text_is_read_or_a_sentence(text: str) -> None:
    for tried in (text, "CGATS.17\n" + text):
        try:
            parse(tried, "x")
        except LamphouseError as error:
            assert "\n" not in str(error).replace(repr(text), "")


def test_five_thousand_damaged_files() -> None:
    chance = random.Random(7)
    for _ in range(5000):
        data = list(WEDGE)
        for _ in range(chance.randint(1, 6)):
            at = chance.randrange(len(data))
            data[at : at + chance.randint(0, 3)] = chance.choices("\n\t \"'#0aZ_.-\x00é", k=chance.randint(0, 3))
        try:
            found, *_ = read_samples("".join(data), "w")
            assert all(isinstance(r.sample, str) for r in found)
        except LamphouseError:
            pass
