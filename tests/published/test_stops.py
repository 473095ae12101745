"""Dodges, burns and stops against printed values."""

from fractions import Fraction

import pytest

from tests.published.source import LAMBRECHT, NOT_NAMED, published
from timer.craft.dodge_burn import burn_seconds, dodge_seconds
from timer.craft.stops import factor, stops_between


@LAMBRECHT
def test_rows_of_the_timing_table() -> None:
    assert dodge_seconds(25.4, Fraction(1, 3)) == pytest.approx(5.2, abs=0.05)
    assert burn_seconds(25.4, Fraction(1, 2)) == pytest.approx(10.5, abs=0.05)


@published(NOT_NAMED, "A question on half a stop, and its answers", "greenspun.com, msg_id=007rkh")
def test_sixteen_seconds_and_half_a_stop() -> None:
    # 22.6 s, so 6.6 more, and not 24
    assert burn_seconds(16, Fraction(1, 2)) == pytest.approx(6.6, abs=0.05)


@published("E. Buffaloe", "Test exposures", "unblinkingeye.com/Articles/TestExpo/testexpo.html")
def test_a_quarter_stop_and_equal_seconds() -> None:
    assert factor(Fraction(1, 4)) == pytest.approx(1.19, abs=0.005)
    assert stops_between(3, 6) == pytest.approx(1)
    assert stops_between(30, 33) == pytest.approx(1 / 8, abs=0.02)  # "about 1/8 stop"


@published(NOT_NAMED, "Photographic Lighting: Essential Skills", "table of filter factors")
@pytest.mark.parametrize(
    ("times", "stops"),
    # to thirds of a stop
    [
        (1.25, "1/3"), (1.5, "2/3"), (2, "1"), (2.5, "4/3"), (3, "5/3"), (4, "2"), (5, "7/3"), (6, "8/3"), (8, "3"),
        (10, "10/3"),
    ],
)  # fmt: skip
def test_factors_and_stops(times: float, stops: str) -> None:
    assert stops_between(1, times) == pytest.approx(float(Fraction(stops)), abs=1 / 6)


@published("US Army", "Subcourse SS0509-8", "p. 68")
def test_a_record_of_a_dodge_and_a_burn() -> None:
    # 10 s overall, dodge 3 s, burn 8 s
    assert dodge_seconds(10, -stops_between(10, 7)) == pytest.approx(3)
    assert burn_seconds(10, stops_between(10, 18)) == pytest.approx(8)
