"""Paper: ISO speed P and range R, what a change of paper or grade does, and dry-down.

ISO 6846: speed from the exposure for a density of 0.6 above base and fog, so equal P holds that tone and no other.
"""

GRADE_LER = (
    # log exposure ranges of ANSI PH2.2-1966 and its successors, through published copies (second-hand)
    (6, 0.35, 0.50), (5, 0.50, 0.65), (4, 0.65, 0.80), (3, 0.80, 0.95), (2, 0.95, 1.15), (1, 1.15, 1.40),
    (0, 1.40, 1.70),
)  # fmt: skip

HIGHLIGHT, SHADOW, SPEED_POINT = 0.04, 0.90, 0.60
"""What ISO 6846 reads on a paper's curve: densities above base and fog for highlight and speed, and the share of the
greatest density that is the shadow. Focal Encyclopedia p. 679; the speed's from memory."""

HARD = ("4", "4 1/2", "5")

COLOUR_S = (5.0, 45.0)
"""Seconds in which colour paper keeps its balance. US Army SS0514 p. 3-11."""


def speed_factor(old: float, new: float) -> float:
    """Exposure on paper of speed ``new`` over that on ``old`` for the same middle tone (D = 0.6): P old / P new."""
    if not (0 < old < 100_000 and 0 < new < 100_000):
        raise ValueError("paper speeds P are numbers like 100, 250 or 500")
    return old / new


def grade_of_range(r: float) -> int:
    """The grade that an ISO range R (hundredths of log exposure) belongs to; R on a limit counts as the softer one."""
    for grade, low, high in GRADE_LER:
        if low <= r / 100 < high or (grade == 0 and r / 100 == high):
            return grade
    raise ValueError(f"R{r:g} is outside the graded papers, R35 to R170")


def grade_factor(old: str, new: str) -> float:
    """Exposure through contrast filter ``new`` over ``old``: 00 to 3 1/2 alike, 4 to 5 double.

    The filter set's own leaflet (Polymax filters, silvestricamerashop.it); other sets differ, so test yours.
    """
    return (2.0 if new in HARD else 1.0) / (2.0 if old in HARD else 1.0)


DRY_DOWN_SET = (0.0, 8.0, 9.0, 10.0, 11.0, 12.0)
"""The reference that stays wet, and the prints to be dried and compared with it: per cent less. Published as Les
McLean's test, grainmag.com, "Dry-down effect compensation"."""


def dry_down_times(seconds: float) -> list[tuple[float, float]]:
    """(per cent less, full-light seconds) for each print of the set."""
    return [(less, seconds * (1 - less / 100)) for less in DRY_DOWN_SET]
