"""Paper grades, speeds and dry-down. Sources beside each check."""

import pytest

from timer.craft import paper as p


@pytest.mark.parametrize(
    ("r", "grade"),
    # ANSI PH2.2 ranges through published copies (second-hand); outer limits 0.50, 1.70 and 0.35 in the Focal
    # Encyclopedia of Photography, p. 679
    [(40, 6), (50, 5), (60, 5), (70, 4), (90, 3), (105, 2), (110, 2), (130, 1), (160, 0), (170, 0)],
)
def test_grade_of_a_range(r: float, grade: int) -> None:
    assert p.grade_of_range(r) == grade


def test_negatives_and_their_grades() -> None:
    # the same report: a negative of density range 1.05 suits grade 2, 0.70 grade 4, 1.30 grade 1 (LER = DR, ISO 6846)
    assert [p.grade_of_range(r) for r in (105, 70, 130)] == [2, 4, 1]
    with pytest.raises(ValueError, match="outside"):
        p.grade_of_range(180)


def test_contrast_filters() -> None:
    # Polymax filter set, silvestricamerashop.it; NAVEDTRA 14209: 00 to 3 1/2 alike, 4 and 5 double
    soft = ["00", "0", "1", "2", "3", "3 1/2"]
    assert all(p.grade_factor(a, b) == 1 for a in soft for b in soft)
    assert p.grade_factor("3", "4") == 2
    assert p.grade_factor("5", "2") == 0.5
    assert p.grade_factor("4", "5") == 1


def test_speed() -> None:
    # arithmetic on t P = constant for D = 0.6
    assert p.speed_factor(200, 100) == 2
    assert p.speed_factor(500, 200) == 2.5
    assert p.speed_factor(200, 320) == 0.625


def test_dry_down_set() -> None:
    # Les McLean's test, grainmag.com: 8 to 12 % less; stops by arithmetic
    from timer.craft.stops import stops_between

    stops = [stops_between(10, seconds) for _, seconds in p.dry_down_times(10)]
    assert stops == pytest.approx([0, -0.1203, -0.1361, -0.1520, -0.1681, -0.1844], abs=5e-5)


def test_overshoot_then_halve() -> None:
    # M. A. Smith, "On printing": too light at 12 s and 15 seems right, print 18; common practice: halve on reversal
    from fractions import Fraction

    from timer.craft.read_strip import next_step

    third = Fraction(1, 3)
    assert next_step(third, None) == 2 * third
    assert next_step(-third, 2 * third) == -third
    assert next_step(third, third) == third
