"""A patch that does not belong with the others: another one was read, or it was not lit as planned."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from timer.craft.chance import chi_square_limit
from timer.craft.solve import Estimate, Reading

FEWEST = 4
"""Patches of one sheet, the odd one among them, of which one may be left out: the rest has to agree on something. A print
of its own sheet is never left out: it is what the printer has."""


ODD = 0.9998
"""The share of patches, right ones, without which the rest fits better by no more than chance lets it: of a thousand sheets
of five one may be said to have an odd one."""


@dataclass(frozen=True, eq=False)
class Odd:
    """``which``: its place among the readings. ``alone``: the others agree without it, and without no other nearly as
    well. ``rest``: the fit of the others."""

    which: int
    alone: bool
    rest: Estimate


def odd_patch(readings: Sequence[Reading], whole: Estimate, fit_of: Callable[[Sequence[Reading]], Estimate]) -> Odd | None:
    """The reading without which the rest fits best, if it fits better than chance explains; None else, and of two.

    ``whole``: the fit of all of them; ``fit_of``: of some. Of a fit's ``misfit`` chance makes chi-square with as many
    degrees of freedom as there are densities less three; so without one reading it is less by chi-square of three. A patch
    that is wrong draws the fit to it and leaves others further off, so that the largest residual may be a right one's.
    """
    least = chi_square_limit(3, ODD)
    if len(readings) < 3 or whole.misfit <= least:
        return None
    fits = [fit_of([*readings[:n], *readings[n + 1 :]]) for n in range(len(readings))]
    without = [each.misfit for each in fits]
    which = min(range(len(readings)), key=without.__getitem__)
    if whole.misfit - without[which] <= least:
        return None
    next_best = min(misfit for n, misfit in enumerate(without) if n != which)
    beside = sum(each.sheet == readings[which].sheet for each in readings)
    agree = without[which] <= chi_square_limit(3 * len(readings) - 6)
    return Odd(which, agree and next_best - without[which] > least and beside >= FEWEST, fits[which])
