"""Grade, time and dry-down by a paper's own curve: on straight lines by hand, on logistic papers by their own inverse."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.craft.test_bw_curve import drawn
from timer.bench import paper
from timer.craft import bw_grade as craft
from timer.craft.bw_curve import PaperCurve, fit, iso_points

LINE = PaperCurve((0.0, 1.0, 2.0), (0.0, 1.0, 2.0), 0.0, 2.0)
STEEP = PaperCurve((1.0, 1.5, 2.0), (0.0, 1.0, 2.0), 0.0, 2.0)


def test_ranges_by_hand() -> None:
    assert craft.negative_range(LINE, 0.2, 1.3) == pytest.approx(1.1)
    assert craft.negative_range(STEEP, 0.2, 1.3) == pytest.approx(0.55)
    assert craft.range_between(STEEP, 0.1, 1.9) == pytest.approx(0.9)
    for light, dark in ((1.0, 1.0), (1.3, 0.2)):
        with pytest.raises(ValueError, match=r"dark place \(.*\) must be darker than the light one"):
            craft.negative_range(LINE, light, dark)
    for light, dark in ((0.1, 2.1), (-0.1, 1.0)):
        with pytest.raises(ValueError, match="off this paper's curve"):
            craft.negative_range(LINE, light, dark)


def test_needed_r() -> None:
    # between the ISO points themselves R is 100 times the negative's range
    iso = iso_points(LINE)
    assert craft.needed_r(LINE, iso, 1.05, 0.04, 1.8) == pytest.approx(105)
    # 0.1 to 1.1 is 1.0 on this paper of R176, so a negative of 0.5 needs half of its R
    assert craft.needed_r(LINE, iso, 0.5, 0.1, 1.1) == pytest.approx(88)
    assert craft.needed_r(STEEP, iso_points(STEEP), 1.05, 0.04, 1.8) == pytest.approx(105)


@given(st.floats(60, 170), st.floats(0.5, 1.7), st.floats(0.08, 0.3), st.floats(1.2, 1.85))
def test_a_paper_of_the_needed_r_holds_the_negative(r: float, density_range: float, highlight: float, shadow: float) -> None:
    logistic = fit(drawn(r, 200, step=0.03, beyond=1.5))
    needs = craft.needed_r(logistic, iso_points(logistic), density_range, highlight, shadow)
    other = paper.curve_for(needs, 100)
    assert other.log_exposure(shadow) - other.log_exposure(highlight) == pytest.approx(density_range, rel=0.02)


def test_shadow_of_a_negative() -> None:
    assert craft.shadow_of(LINE, 1.0, 0.1) == pytest.approx(1.1)
    assert craft.shadow_of(STEEP, 0.5, 0.1) == pytest.approx(1.1)
    assert craft.shadow_of(LINE, 5.0, 0.1) == 2.0  # full black


def test_time_by_hand() -> None:
    assert craft.log_time(LINE, 0.5, LINE, 0.5) == pytest.approx(0)
    assert craft.log_time(LINE, 0.5, LINE, 0.2) == pytest.approx(-0.3)  # lighter: half the time
    # in one set-up the same place had 0.5 on the one, and needs 1.1 for 0.2 on the other
    assert craft.log_time(LINE, 0.5, STEEP, 0.2) == pytest.approx(1.1 - 0.5)
    assert craft.log_time(STEEP, 0.2, LINE, 0.5) == pytest.approx(0.5 - 1.1)
    # not in one set-up: 0.6 lies at 0.6 and 1.3; with twice the light between them 0.6 takes log10 2 more
    assert craft.log_time(LINE, 0.6, STEEP, 0.6, new_over_old=2) == pytest.approx(math.log10(2))
    assert craft.log_time(LINE, 0.5, STEEP, 0.8, new_over_old=2) == pytest.approx(0.1 + 0.1 + math.log10(2))
    assert craft.log_time(LINE, 0.5, STEEP.moved(3), 0.8, new_over_old=1) == pytest.approx(0.2)
    with pytest.raises(ValueError, match="off this paper's curve"):
        craft.log_time(LINE, 2.5, LINE, 0.5)


@given(st.floats(60, 160), st.floats(60, 160), st.floats(0.1, 1.7), st.floats(0.1, 1.7))
def test_time_there_and_back(one: float, other: float, read: float, wanted: float) -> None:
    a, b = fit(drawn(one, 200)), fit(drawn(other, 100))
    assert craft.log_time(a, read, b, wanted) == pytest.approx(-craft.log_time(b, wanted, a, read), abs=1e-9)
    there, back = craft.log_time(a, read, b, wanted, new_over_old=2), craft.log_time(b, wanted, a, read, new_over_old=0.5)
    assert there == pytest.approx(-back, abs=1e-9)


def test_dry_down_by_hand() -> None:
    # slope 1: 0.03 darker is 0.03 more exposure, a tenth of a stop (log10 2 is 0.30103)
    found = craft.dry_down(LINE, [(0.50, 0.53)])
    assert found.each == pytest.approx((0.03 / 0.30103,), rel=1e-4) and found.stops == pytest.approx(found.each[0])
    assert found.percent == pytest.approx(100 * (1 - 10**-0.03))
    assert found.error == pytest.approx(math.sqrt(2) * 0.01 / 0.30103, rel=1e-4)
    lighter = craft.dry_down(LINE, [(0.53, 0.50)])
    assert lighter.stops == pytest.approx(-found.stops) and lighter.percent < 0
    assert craft.dry_down(LINE, [(0.5, 0.5)]).percent == 0
    assert craft.dry_down(STEEP, [(0.50, 0.53)]).stops == pytest.approx(found.stops / 2)
    four = craft.dry_down(LINE, [(0.50, 0.53)] * 4, 0.02)
    assert four.error == pytest.approx(found.error)  # four readings of twice the error


def test_steep_tones_count_more() -> None:
    # slope 1 below a density of 1, 3 above: weights 1 and 9
    bent = PaperCurve((0.0, 0.5, 1.0, 1.2, 1.4), (0.0, 0.5, 1.0, 1.6, 2.2), 0.0, 2.2)
    a, b = craft.dry_down(bent, [(0.2, 0.26)]).stops, craft.dry_down(bent, [(1.7, 1.76)]).stops
    assert a == pytest.approx(3 * b, rel=0.2)
    both = craft.dry_down(bent, [(0.2, 0.26), (1.7, 1.76)])
    share = (both.stops - b) / (a - b)
    slopes = [bent.slope_at((bent.exposure_for(w) + bent.exposure_for(d)) / 2) for w, d in ((0.2, 0.26), (1.7, 1.76))]
    assert share == pytest.approx(slopes[0] ** 2 / (slopes[0] ** 2 + slopes[1] ** 2)) and share < 0.15


def test_tones_where_the_curve_is_flat_tell_nothing() -> None:
    toe = PaperCurve((0.0, 1.0, 2.0, 3.0), (0.0, 0.1, 1.0, 2.0), 0.0, 2.0)
    with pytest.raises(ValueError, match="flat at these tones"):
        craft.dry_down(toe, [(0.02, 0.03)])
    assert craft.dry_down(toe, [(0.02, 0.03), (1.2, 1.25)]).stops == pytest.approx(craft.dry_down(toe, [(1.2, 1.25)]).stops)
    with pytest.raises(ValueError, match="flat at these tones"):
        craft.dry_down(toe, [])
    with pytest.raises(ValueError, match="off this paper's curve"):
        craft.dry_down(toe, [(1.9, 2.1)])


@given(st.floats(0.02, 0.3), st.lists(st.floats(0.15, 1.6), min_size=1, max_size=6))
def test_a_dry_down_in_stops_is_found_again(stops: float, wet: list[float]) -> None:
    """A paper that dries as if it had had so much more light, on all tones."""
    curve = paper.curve_for(110, 200)
    dry = [float(curve.density(curve.log_exposure(d) + stops * np.log10(2))) for d in wet]
    found = craft.dry_down(fit(drawn(110, 200, step=0.03)), list(zip(wet, dry, strict=True)))
    assert found.stops == pytest.approx(stops, abs=0.01)
    assert found.percent == pytest.approx(100 * (1 - 2**-stops), abs=0.7)
