import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.stops import (
    SPOKEN,
    at_a_glance,
    between,
    digits,
    exact_stops,
    factor,
    format_stops,
    listed,
    parse_stops,
    stops_between,
    stops_text,
    told_apart,
)

amounts = st.fractions(min_value=-12, max_value=12, max_denominator=48)


@pytest.mark.parametrize(
    ("text", "stops"),
    [
        ("1/3", Fraction(1, 3)),
        ("-1/2", Fraction(-1, 2)),
        ("−1/2", Fraction(-1, 2)),
        ("+2/3", Fraction(2, 3)),
        ("1 1/3", Fraction(4, 3)),
        ("-1 1/3", Fraction(-4, 3)),
        ("1+1/3", Fraction(4, 3)),
        ("11/3", Fraction(11, 3)),
        ("⅓", Fraction(1, 3)),
        ("1⅔", Fraction(5, 3)),
        ("-½", Fraction(-1, 2)),
        ("0.25", Fraction(1, 4)),
        (".5", Fraction(1, 2)),
        (0.1, Fraction(1, 10)),
        (2, Fraction(2)),
        ("0", Fraction(0)),
    ],
)
def test_what_a_printer_writes(text: str | float, stops: Fraction) -> None:
    assert parse_stops(text) == stops


@pytest.mark.parametrize(
    "text",
    [
        "",
        "x",
        "1/0",
        "1/",
        "1 2",
        "1/3/4",
        "1e9",
        float("nan"),
        float("inf"),
        "13",
        True,
        "٣",
        "1 /3",
        "9" * 99,
    ],
)
def test_what_is_not_an_amount(text: str | float) -> None:
    with pytest.raises(ValueError, match="stops"):
        parse_stops(text)


@given(amounts)
def test_what_is_written_is_read_back(stops: Fraction) -> None:
    assert parse_stops(exact_stops(stops)) == stops
    shown = parse_stops(format_stops(stops, signed=True))
    assert shown == stops if stops.denominator in SPOKEN else abs(shown - stops) <= Fraction(1, 200)


def test_parts_of_a_stop_that_nobody_says_are_decimals() -> None:
    said = [format_stops(Fraction(-4, 29)), format_stops(Fraction(5, 7)), format_stops(Fraction(17, 12), signed=True)]
    assert said == ["-0.14", "0.71", "+1 5/12"]


@given(st.text(max_size=30))
def test_any_text_is_an_amount_or_a_sentence(text: str) -> None:
    try:
        assert abs(parse_stops(text)) <= 12
    except ValueError as error:
        assert "stops" in str(error)


@given(amounts, amounts)
def test_stops_add_where_factors_multiply(a: Fraction, b: Fraction) -> None:
    assert factor(a) * factor(b) == pytest.approx(factor(a + b))


@given(st.floats(0.01, 1000), amounts)
def test_stops_between_undoes_factor(seconds: float, stops: Fraction) -> None:
    assert stops_between(seconds, seconds * factor(stops)) == pytest.approx(float(stops), abs=1e-9)


def test_between_is_counted_in_stops() -> None:
    assert between(8, 16) == pytest.approx(11.3137, abs=1e-4)
    assert between(8, 16, Fraction(0)) == 8
    assert between(8, 32) == pytest.approx(16)
    assert between(8, 32, Fraction(1, 4)) == pytest.approx(8 * 2**0.5)


def test_nothing_has_no_stops() -> None:
    for first, second in ((0, 1), (1, 0), (-1, 1), (1, -1), (-1, -2), (math.inf, 1), (1, math.inf), (math.nan, 1)):
        with pytest.raises(ValueError, match="more than nothing"):
            stops_between(first, second)


@pytest.mark.parametrize(
    "text", ["1/99999999", "-1/99999999", "0.123456789", "1 22/7001", "11 99999/100000", "0.30000000000000004"]
)
def test_amounts_of_any_fineness_are_written_exactly(text: str) -> None:
    assert parse_stops(exact_stops(parse_stops(text))) == parse_stops(text)


@given(st.fractions(-12, 12, max_denominator=10**9))
def test_every_amount_is_written_exactly(stops: Fraction) -> None:
    assert parse_stops(exact_stops(stops)) == stops


def test_nothing_has_no_sign() -> None:
    assert (exact_stops(Fraction(0)), format_stops(Fraction(0), signed=True), stops_text(-0.0)) == ("0", "0", "0")


def test_fine_amounts_are_shown_short() -> None:
    assert [format_stops(Fraction(n, d)) for n, d in ((1, 49), (47, 48), (-1, 100), (1, 3000), (-1, 99999999))] == [
        "0.02", "0.98", "-0.01", "1/3000", "-1/99999999",
    ]  # fmt: skip
    written = [exact_stops(Fraction(n, d)) for n, d in ((1, 48), (4, 3), (49, 48), (50, 49), (-4, 3))]
    assert written == ["1/48", "1 1/3", "1 1/48", "50/49", "-1 1/3"]


def test_reckoned_amounts_are_fractions_where_they_are_whole() -> None:
    assert [stops_text(s) for s in (1 / 3, -1 / 6, 0.0, 1.5, 1 / 24, -0.1379, 13 / 30, 1.2)] == [
        "+1/3", "-1/6", "0", "+1 1/2", "+0.04", "-0.14", "+0.43", "+1.20",
    ]  # fmt: skip


def test_little_is_not_nothing() -> None:
    assert [stops_text(s) for s in (0.005, 0.00499, 0.0014, -0.00003, 0.0)] == ["+0.01", "+0.005", "+0.001", "-0.00003", "0"]


def test_a_number_beside_its_limit() -> None:
    below = [told_apart(n, 0.005) for n in (1e-9, 0.003, 0.0049, 0.00496, 0.0049999)]
    assert below == ["1e-09", "0.003", "0.0049", "0.00496", "0.0049999"]
    assert [told_apart(n, 120) for n in (120.04, 120.5, 3600.0)] == ["120.04", "120.5", "3600.0"]


@given(st.floats(1e-6, 1e6), st.floats(1e-3, 1e4))
def test_a_number_is_told_on_its_side_of_the_limit(number: float, limit: float) -> None:
    if number != limit:
        told = float(told_apart(number, limit))
        assert told != limit and (told < limit) == (number < limit)


def test_times_have_three_digits() -> None:
    numbers = (0.15625, 0.0156, 9.554, 9.996, 10.0, 21.72, 117.34, 4556.25, 0.9996, 0.0, -0.5, math.inf, -math.inf)
    assert [digits(n) for n in numbers] == [
        "0.156", "0.0156", "9.55", "10.0", "10.0", "21.7", "117.3", "4556.2", "1.00", "0", "-0.500", "inf", "-inf",
    ]  # fmt: skip


def test_times_in_a_list_are_told_apart() -> None:
    # hundredths would show 0.0170 and 0.0191 alike
    assert [listed(s) for s in (12.699, 1.0, 0.9999, 0.15625, 0.01702, 0.0191, 0.005, 1e-17, 0)] == [
        "12.70", "1.00", "1.00", "0.156", "0.0170", "0.0191", "0.00500", "0.00", "0.00",
    ]  # fmt: skip

    assert [at_a_glance(s) for s in (12.699, 1.0, 0.0170)] == ["12.7", "1.0", "0.0170"]


def test_a_change_too_small_for_two_decimals_is_no_nothing() -> None:
    # log2(200 / 200.1) is -0.00072
    assert stops_text(stops_between(200.1, 200)) == "-0.0007"
    assert (stops_text(0.005), stops_text(0.0049), stops_text(-0.000012)) == ("+0.01", "+0.005", "-0.00001")
    assert stops_text(1e-7) == "0"


def test_the_parts_of_a_stop_that_are_said() -> None:
    """Halves, thirds, quarters, sixths, eighths and twelfths: our own choice."""
    assert [format_stops(Fraction(1, part)) for part in range(1, 15)] == [
        "1", "1/2", "1/3", "1/4", "0.20", "1/6", "0.14", "1/8", "0.11", "0.10", "0.09", "1/12", "0.08", "0.07",
    ]  # fmt: skip


@pytest.mark.parametrize(("start", "end"), [("0.", "5"), ("0", "1/3")])
def test_sixty_signs_are_the_most(start: str, end: str) -> None:
    text = start + "0" * (60 - len(start + end)) + end
    assert 0 < parse_stops(text) < 1
    with pytest.raises(ValueError, match="not an amount in stops"):
        parse_stops(start + "0" + text.removeprefix(start))


def test_whole_stops_as_a_fraction_and_the_furthest() -> None:
    assert [parse_stops(text) for text in ("3/1", "12", "-12", "11 1/2")] == [3, 12, -12, Fraction(23, 2)]
    with pytest.raises(ValueError, match="between -12 and 12"):
        parse_stops("12 1/24")


def test_a_fraction_is_meant_within_a_millionth() -> None:
    assert [stops_text(1 / 3 + off) for off in (5e-7, -5e-7, 2e-6, -2e-6)] == ["+1/3", "+1/3", "+0.33", "+0.33"]
