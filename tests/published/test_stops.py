"""Dodges, burns and stops against printed values. Sources beside each check."""

from fractions import Fraction

import pytest

from timer.craft.dodge_burn import burn_seconds, dodge_seconds
from timer.craft.stops import factor, stops_between


def test_lambrecht_timing_table() -> None:
    # R. W. Lambrecht, "f/stop Timing Table [s]", (c) 1999, 2005, https://www.boxegg.com/detail/7562/
    assert dodge_seconds(25.4, Fraction(1, 3)) == pytest.approx(5.2, abs=0.05)
    assert burn_seconds(25.4, Fraction(1, 2)) == pytest.approx(10.5, abs=0.05)
    assert 8 * factor(Fraction(5, 3)) == pytest.approx(25.4, abs=0.05)


def test_sixteen_seconds_and_half_a_stop() -> None:
    # greenspun.com Q&A, msg_id=007rkh: 16 s and half a stop more is 22.6 s (+6.6), not 24
    assert burn_seconds(16, Fraction(1, 2)) == pytest.approx(6.6, abs=0.05)


def test_buffaloe_quarter_stop_and_equal_seconds() -> None:
    # E. Buffaloe, "Test exposures", http://unblinkingeye.com/Articles/TestExpo/testexpo.html
    assert factor(Fraction(1, 4)) == pytest.approx(1.19, abs=0.005)
    assert stops_between(3, 6) == pytest.approx(1)
    assert stops_between(30, 33) == pytest.approx(1 / 8, abs=0.02)  # "about 1/8 stop"


@pytest.mark.parametrize(
    ("times", "stops"),
    [
        (1.25, "1/3"),
        (1.5, "2/3"),
        (2, "1"),
        (2.5, "4/3"),
        (3, "5/3"),
        (4, "2"),
        (5, "7/3"),
        (6, "8/3"),
        (8, "3"),
        (10, "10/3"),
    ],
)
def test_factors_and_stops(times: float, stops: str) -> None:
    # Photographic Lighting: Essential Skills, filter factor table, issuu.com/sakinamasalec (printed to thirds of a stop)
    assert stops_between(1, times) == pytest.approx(float(Fraction(stops)), abs=1 / 6)


def test_army_record_of_a_dodge_and_a_burn() -> None:
    # US Army subcourse SS0509-8 p. 68: 10 s overall, dodge 3 s, burn 8 s; as stops -0.515 and +0.848
    assert dodge_seconds(10, -stops_between(10, 7)) == pytest.approx(3)
    assert burn_seconds(10, stops_between(10, 18)) == pytest.approx(8)
    assert stops_between(10, 7) == pytest.approx(-0.515, abs=0.001)
    assert stops_between(10, 18) == pytest.approx(0.848, abs=0.001)
