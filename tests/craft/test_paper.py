"""Paper: limits at second hand, rules from memory, and our own choices."""

import pytest

from timer.craft import paper as craft_paper
from timer.craft.stops import stops_between


@pytest.mark.parametrize(
    ("r", "grade"),
    # ANSI PH2.2's inner limits at second hand, from a report's copy; that a limit is the softer paper is our choice
    [
        (50, 5), (64, 5), (65, 4), (79, 4), (80, 3), (94, 3), (95, 2), (114, 2), (115, 1), (139, 1), (140, 0), (169, 0),
    ],
)  # fmt: skip
def test_grade_of_a_range(r: float, grade: int) -> None:
    assert craft_paper.grade_of_range(r) == grade


def test_speed() -> None:
    # t P = constant for D = 0.6: from memory of ISO 6846, where P is 1000 over the exposure
    assert craft_paper.speed_factor(200, 100) == 2
    assert craft_paper.speed_factor(500, 200) == 2.5
    assert craft_paper.speed_factor(200, 320) == 0.625
    assert craft_paper.speed_factor(0.5, 99_999.5) == pytest.approx(0.5 / 99_999.5)
    assert craft_paper.speed_factor(99_999.5, 0.5) == pytest.approx(199_999)
    for wrong in (0, -1, 100_000, 100_001, float("nan")):
        for old, new in ((wrong, 100), (100, wrong)):
            with pytest.raises(ValueError, match="paper speeds P"):
                craft_paper.speed_factor(old, new)


def test_the_dry_down_set_in_stops() -> None:
    stops = [stops_between(10, seconds) for _, seconds in craft_paper.dry_down_times(10)]
    assert stops == pytest.approx([0, -0.1203, -0.1361, -0.1520, -0.1681, -0.1844], abs=5e-5)
