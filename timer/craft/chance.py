"""What chance alone may do."""

from statistics import NormalDist

SURE = 0.999
"""Of a thousand sheets that agree with what was learned, one may be said to contradict it."""


def chi_square_limit(freedom: int, share: float = SURE) -> float:
    """What chi-square with so many degrees of freedom stays below in that ``share`` of cases; 0 of none.

    Approximation of E. B. Wilson and M. M. Hilferty, "The distribution of chi-square", PNAS 17 (1931), p. 684.
    """
    if freedom < 1:
        return 0.0
    part = 2 / (9 * freedom)
    return float(freedom * (1 - part + NormalDist().inv_cdf(share) * part**0.5) ** 3)
