"""Paper grades, contrast filters and dry-down as published."""

from fractions import Fraction

import pytest

from tests.published.source import NAVY_CONTRAST, NOT_NAMED, published
from timer.craft import paper as craft_paper
from timer.craft.bw_curve import PaperCurve, iso_points, rounded_r
from timer.craft.read_strip import next_step
from timer.craft.stops import factor, stops_between


@published("L. Stroebel and R. Zakia, editors (names from memory)", "The Focal Encyclopedia of Photography", "p. 679")
def test_outer_limits_of_the_grades() -> None:
    # ANSI PH2.2-1966: 0.50 to 1.70 in six grades, 0 to 5; the draft of 1978 added 0.35 to 0.50 as grade 6
    assert [craft_paper.grade_of_range(r) for r in (35, 49, 50, 170)] == [6, 6, 5, 0]
    for outside in (34, 171):
        with pytest.raises(ValueError, match="outside"):
            craft_paper.grade_of_range(outside)


@published("L. Stroebel and R. Zakia, editors (names from memory)", "The Focal Encyclopedia of Photography", "p. 679")
def test_highlight_and_shadow_of_iso_r() -> None:
    # IDmin 0.04 above base plus fog, IDmax 90 % of Dmax: on a paper whose density rises by 1 from log exposure 0
    line = PaperCurve((0.0, 1.0, 2.0), (0.1, 1.1, 2.1), 0.1, 2.1)
    found = iso_points(line)
    assert (found.highlight, found.shadow) == (pytest.approx(0.04), pytest.approx(0.9 * 2.1 - 0.1))


@published(NOT_NAMED, "Contrast grades of papers", "grainmag.com/blog/posts/contrast-grades-papers-multigrade")
def test_r_in_tens() -> None:
    # 1.32 log units are R130
    assert rounded_r(100 * 1.32) == 130


SOFT, HARD = ("00", "0", "1/2", "1", "1 1/2", "2", "2 1/2", "3", "3 1/2"), ("4", "4 1/2", "5")


@published("Eastman Kodak Company", "Polymax filter set", "silvestricamerashop.it, Polymax filter set 150 mm")
def test_contrast_filters() -> None:
    # the same time from 00 to 3 1/2, double from 4 to 5
    for old in (*SOFT, *HARD):
        for new in (*SOFT, *HARD):
            assert craft_paper.grade_factor(old, new) == {(True, False): 0.5, (False, True): 2.0}.get(
                (old in HARD, new in HARD), 1.0
            )


@NAVY_CONTRAST
def test_a_stop_more_from_four_on() -> None:
    # "f/8 10 s with No. 3 becomes f/5.6 10 s with No. 4"
    assert craft_paper.grade_factor("3", "4") == 2


@published(
    "L. McLean, in Grain magazine", "Dry-down effect compensation", "grainmag.com/blog/posts/dry-down-effect-compensation"
)
def test_dry_down_set() -> None:
    assert [(less, round(seconds, 3)) for less, seconds in craft_paper.dry_down_times(10)] == [
        (0, 10), (8, 9.2), (9, 9.1), (10, 9.0), (11, 8.9), (12, 8.8),
    ]  # fmt: skip


@published("M. A. Smith", "On printing", "lodima.org/on-printing")
def test_past_it_first() -> None:
    # too light at 12 s, 15 s seems right: print 18 s
    seems = Fraction(stops_between(12, 15)).limit_denominator(48)
    assert 12 * factor(next_step(seems, None)) == pytest.approx(18, rel=0.05)


@published("US Army", "Subcourse SS0514", "p. 3-11")
def test_how_long_colour_paper_may_be_exposed() -> None:
    assert craft_paper.COLOUR_S == (5, 45)
