"""Strip series as printed."""

from fractions import Fraction

import pytest

from tests.published.source import LAMBRECHT, NOT_NAMED, published
from timer.craft.strip import patches


@published(NOT_NAMED, "PhotographyTips, a page on test strips", "photographytips.com/page.cfm/6089")
def test_one_stop_series() -> None:
    assert [p.seconds for p in patches(2, Fraction(1), 4)] == pytest.approx([2, 4, 8, 16])


@LAMBRECHT
def test_a_third_stop_series_has_25_4() -> None:
    assert patches(8, Fraction(1, 3), 7)[5].seconds == pytest.approx(25.4, abs=0.05)
