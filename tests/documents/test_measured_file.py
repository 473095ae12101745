"""Instruments' files of the shapes that are met in the field; the numbers are ours."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.documents.measured_file import read_samples
from timer.errors import LamphouseError

GREY = -0.7447  # of 18 %


def table(fields: str, *rows: str, first: str = "CGATS.17", headers: str = "") -> str:
    body = "\n".join(rows)
    return f"{first}\n{headers}\nBEGIN_DATA_FORMAT\n{fields}\nEND_DATA_FORMAT\nBEGIN_DATA\n{body}\nEND_DATA\n"


def grey_of(text: str) -> tuple[float | None, ...]:
    (found, *_), _, _ = read_samples(text, "f.txt")
    assert found.kind == "colorimeter" and found.error is None
    return found.red, found.green, found.blue, found.visual


def spectrum(value: str, step: int = 10) -> str:
    return " ".join([value] * len(range(380, 731, step)))


def columns(name: str, step: int = 10) -> str:
    return " ".join(f"{name}{nm}" for nm in range(380, 731, step))


@pytest.mark.parametrize(
    "text",
    [
        table("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", '1 17.356 18 14.848', headers='ILLUMINANT "D50"'),
        table("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 0.17356 0.18 0.14848"),
        table("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 17.108 18 19.599", headers='WEIGHTING_FUNCTION "ILLUMINANT, D65"'),
        table("SAMPLE_NAME LAB_L LAB_A LAB_B", '"grey card" 49.496 0 0', headers="NUMBER_OF_FIELDS 7", first="IT8.7/2"),
        table("SAMPLE_ID " + columns("SPEC_"), "A1 " + spectrum("18"), headers='SPECTRAL_NORM "100.0"', first="CTI3"),
        table("SAMPLE_ID " + columns("SPECTRAL_NM_"), "A1 " + spectrum("0.18"), first="CTI3"),
        table("SAMPLE_ID " + columns("nm", 20), "A1 " + spectrum("18", 20)),
        table(
            "SAMPLE_ID " + "SPECTRAL_NM SPECTRAL_PCT " * 36, "A1 " + " ".join(f"{nm} 18.0" for nm in range(380, 731, 10))
        ),
        table("SAMPLE_ID " + "SPECTRAL_NM SPECTRAL_DEC " * 31, "1 " + " ".join(f"{nm} .18" for nm in range(400, 701, 10))),
        # a spectrum is more than the colours beside it
        table("SAMPLE_ID LAB_L LAB_A LAB_B " + columns("SPEC_"), "1 30 9 9 " + spectrum("0.18")),
    ],
)  # fmt: skip
def test_a_grey_card_in_every_shape(text: str) -> None:
    assert grey_of(text) == pytest.approx([-GREY] * 4, abs=0.001)


def test_what_is_said_of_it() -> None:
    _, status, notes = read_samples(
        table("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 17 18 15", headers="NUMBER_OF_FIELDS 9"), "f.txt"
    )
    assert status == ""
    assert notes[0] == "NUMBER_OF_FIELDS says 9 and the format has 4: the format was taken"
    assert "under D50 (the file does not say which light)" in notes[1] and "not Status A" in notes[1]


def test_densities_win_over_colours() -> None:
    (found,), _, notes = read_samples(table("SAMPLE_ID D_RED D_GREEN D_BLUE XYZ_X XYZ_Y XYZ_Z", "1 .7 .8 .9 1 2 3"), "f")
    assert (found.red, found.green, found.blue, found.kind) == (0.7, 0.8, 0.9, "") and notes == ()


def test_names_that_repeat_are_not_the_samples_own() -> None:
    found, _, _ = read_samples(table("SAMPLE_ID SAMPLE_LOC LAB_L LAB_A LAB_B", "7 A1 50 0 0", "7 A2 40 0 0"), "f.txt")
    assert [each.sample for each in found] == ["A1", "A2"]


def test_a_second_table_without_names_is_passed_over() -> None:
    second = "BEGIN_DATA_FORMAT\nINDEX XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n0 5 5 5\nEND_DATA\n"
    found, _, _ = read_samples(table("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 17 18 15") + second, "f.txt")
    assert [each.sample for each in found] == ["1"]


def test_a_colour_too_strong_for_a_band_is_said() -> None:
    (found,), _, notes = read_samples(table("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 10 40 120"), "f.txt")
    assert found.red is None and found.blue is not None
    assert "1 too strong in colour" in notes[0]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (table("SAMPLE_ID RGB_R RGB_G RGB_B", "1 0 0 0"), "no column of densities or colours"),
        (table("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 0 0 0"), "sample 1: it reflects nothing"),
        (table("SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", "1 a 0 0"), "XYZ_X is 'a'; it should be a number from 0 to 200"),
        (table("SAMPLE_ID " + columns("SPEC_"), "1 " + spectrum("900")), "reflects 9 times the light"),
        (table("SAMPLE_ID SPEC_500 SPEC_510 SPEC_520 SPEC_530 SPEC_540", "1 1 1 1 1 1"), "should reach from 420 to 680 nm"),
        (table("SAMPLE_ID LAB_L LAB_A LAB_B", "1 50 0 0", "1 40 0 0"), "sample '1' stands there twice"),
        (table("SAMPLE_ID LAB_L LAB_A LAB_B"), "no column of densities or colours"),
    ],
)
def test_bad_files_are_one_sentence(text: str, says: str) -> None:
    with pytest.raises(LamphouseError, match="f.txt") as error:
        read_samples(text, "f.txt")
    assert says in str(error.value)


cell = st.one_of(st.floats(allow_nan=True).map(str), st.text("0123456789.-eEx", max_size=6).filter(str.strip))
field = st.sampled_from(["SAMPLE_ID", "XYZ_X", "XYZ_Y", "XYZ_Z", "LAB_L", "LAB_A", "LAB_B", "D_RED", "SPECTRAL_NM",
                         "SPECTRAL_PCT", "SPEC_400", "SPEC_420", "SPEC_440", "NM500", "R_600", "SPEC_700"])  # fmt: skip


@given(st.lists(field, min_size=1, max_size=14), st.data())
def test_any_table_is_readings_or_one_sentence(fields: list[str], data: st.DataObject) -> None:
    rows = [" ".join(data.draw(cell) for _ in fields) for _ in range(data.draw(st.integers(0, 3)))]
    try:
        found, _, _ = read_samples(table(" ".join(fields), *rows), "f.txt")
    except LamphouseError as error:
        assert "\n" not in str(error)
    else:
        assert all(-1 <= d <= 6 for r in found for d in (r.red, r.green, r.blue, r.visual) if d is not None)


def one(fields: str, *rows: str) -> list[float | None]:
    """Visual densities of a file of such rows."""
    body = "\n".join(rows)
    text = f"CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID {fields}\nEND_DATA_FORMAT\nBEGIN_DATA\n{body}\nEND_DATA\n"
    return [reading.visual for reading in read_samples(text, "f")[0]]


CARD = pytest.approx(0.7447, abs=0.001)
"""-log10 of 0.18."""


def test_a_white_that_is_brightened_does_not_make_it_a_file_of_a_hundred() -> None:
    """Its Y of 1.02 had the grey beside it read as 2.74."""
    found = one("XYZ_X XYZ_Y XYZ_Z", "1 0.17356 0.18 0.14848", "white 0.983 1.02 0.86")
    assert found == [CARD, pytest.approx(-0.0086, abs=0.001)]
    assert one("XYZ_X XYZ_Y XYZ_Z", "1 17.356 18 14.848") == [CARD]


def test_a_dark_spectrum_in_per_cent_is_dark() -> None:
    """1.5 of a hundred had been read as one and a half times the light; a brightened paper's peak may be that high."""
    names = " ".join(f"SPECTRAL_NM{n}" for n in range(380, 731, 10))
    assert one(names, "1 " + " ".join(["1.5"] * 36)) == [pytest.approx(1.824, abs=0.001)]  # -log10 of 0.015
    peak = ["0.9"] * 5 + ["1.5"] * 3 + ["0.9"] * 28
    assert one(names, "1 " + " ".join(["0.18"] * 36), "white " + " ".join(peak))[0] == CARD


@pytest.mark.parametrize("name", ["R_{}nm", "nm{}", "SPEC_{}", "SPECTRAL_NM_{}"])
def test_wavelengths_by_the_names_that_programs_give_them(name: str) -> None:
    assert one(" ".join(name.format(n) for n in range(380, 731, 10)), "1 " + " ".join(["0.18"] * 36)) == [CARD]


def test_a_decimal_comma_is_named() -> None:
    with pytest.raises(LamphouseError, match=r"D_RED is '0,70'; a density is a number with a point, not a comma,"):
        one("D_RED", "1 0,70")
