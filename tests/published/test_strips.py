"""Strip series against printed ones and against the rounding printers use for them."""

from fractions import Fraction

import pytest

from timer.craft.strip import bursts, patches


def test_one_stop_series() -> None:
    # https://www.photographytips.com/page.cfm/6089: 2, 4, 8, 16 s, one stop apart
    assert [p.seconds for p in patches(2, Fraction(1), 4)] == pytest.approx([2, 4, 8, 16])


def test_third_stop_series_as_traditionally_rounded() -> None:
    # Lambrecht's table has 25.4 in this series; the others are arithmetic, rounded as the trade does
    made = [p.seconds for p in patches(8, Fraction(1, 3), 7)]
    assert made == pytest.approx([8, 10, 12.7, 16, 20.2, 25.4, 32], abs=0.08)


def test_third_stop_bursts() -> None:
    # arithmetic: differences of 8 x 2^(n/3)
    made = [b.seconds for b in bursts(patches(8, Fraction(1, 3), 7), "cover")]
    assert made == pytest.approx([8, 2.079, 2.620, 3.301, 4.159, 5.240, 6.602], abs=0.0005)


def test_window_strip_takes_its_whole_light() -> None:
    # arithmetic: 8 + 10.079 + 12.699 + 16 + 20.159
    made = bursts(patches(8, Fraction(1, 3), 5), "window")
    assert sum(b.seconds for b in made) == pytest.approx(66.94, abs=0.01)
