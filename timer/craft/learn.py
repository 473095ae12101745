"""What sheets teach of a head and a paper, one negative after another: the next one starts from it. ``docs/method.md``.

A filter of Kalman's kind (any text on estimation): what is known, a little doubt more for every negative, and the next one's
readings by the solver's own least squares. Units as in ``solve``.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from timer.craft.chance import chi_square_limit
from timer.craft.odd_patch import Odd, odd_patch
from timer.craft.sensitometry import Array, Paper
from timer.craft.solve import Estimate, Prior, Reading, estimate

DRIFT = (0.01, 0.02, 0.02)
"""Doubt that each further negative adds: of an entry of G, of a log slope (2 %), and of a curve's skew. So old sheets
fade. Our choice."""
APART = ((0.0, 0.0, 0.0), (0.02, 0.05, 0.05), (0.05, 0.15, 0.3))
"""The same from this box of paper, from another box of it, from another paper on the same head. Our choice."""
SAME = 0.03
"""Settings that differ by less than this in all, in log10 time and density of controls, are one and teach nothing."""
PROCESS = 0.0075
"""What baths do to one sheet, in log10 exposure, where head and paper are known: more than the plain solver's, since what is
left of a misfit is judged here. Our choice."""
ANY = Prior(
    head_error=4 * Prior().head_error,
    slope_error=4 * Prior().slope_error,
    skew_error=4 * Prior().skew_error,
    process=PROCESS,
)
"""Any head and paper there may be: how well readings fit among themselves, so that a bad patch is no contradiction."""


@dataclass(frozen=True, eq=False)
class Lesson:
    """Readings of one negative, each with its sheet's number, and the ``aim`` that they were read for.

    ``apart``: 0 on this box of paper, 1 on another box, 2 on another paper."""

    readings: tuple[Reading, ...]
    aim: tuple[float, float, float]
    apart: int = 0


@dataclass(frozen=True, eq=False)
class Learned:
    """``head`` (3, 3), ``slope`` and ``skew`` (3) and their ``covariance`` (15, 15: head row by row, log slopes, skews by
    their inverse hyperbolic tangents).

    ``sheets``: how many stand behind them, of this box, of other boxes, of other papers. ``odd``: those that contradicted
    what was known when they came."""

    head: Array
    slope: Array
    skew: Array
    covariance: Array
    sheets: tuple[int, int, int]
    odd: tuple[int, ...] = ()

    def paper(self, sign: int = 1) -> Paper:
        """The paper with those slopes; ``sign`` -1 for reversal material."""
        return Paper(slope=self.slope, skew=self.skew, sign=sign)

    def prior(self) -> Prior:
        """What the solver starts from."""
        return Prior(head=self.head, process=PROCESS, known=self.covariance)

    @property
    def error(self) -> Array:
        """One standard deviation of each entry of the head, row by row, of the log slopes and of the skews (15)."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))


@dataclass(frozen=True, eq=False)
class Fitted:
    """``surprise``: by how much less well (sum of squares) the readings fit with what was learned than without it;
    ``limit``: what chance may do. ``doubted``: it was more, so what was learned counts less in ``known``."""

    known: Estimate
    surprise: float
    limit: float

    @property
    def doubted(self) -> bool:
        """Whether the readings contradict what was learned."""
        return self.surprise > self.limit


def fit(readings: Sequence[Reading], learned: Learned | None, aim: Sequence[float], sign: int = 1) -> Fitted:
    """The estimate from ``readings``, from what was ``learned`` on, which is doubted when they contradict it.

    Readings that do not even fit among themselves, with any head and paper, have larger errors than they say: the limit
    rises by that ratio of chi-square to its degrees of freedom (R. T. Birge, Physical Review 40, 1932, p. 207). ValueError
    without readings.
    """
    if learned is None:
        return Fitted(estimate(readings, Paper(sign=sign), aim=aim), 0.0, 0.0)
    known = estimate(readings, learned.paper(sign), learned.prior(), aim)
    freedom = 3 * _ways(readings)  # in each layer: a slope, or what a control takes
    limit = chi_square_limit(freedom)
    if known.misfit <= limit or not freedom:
        return Fitted(known, 0.0, limit)
    least = estimate(readings, Paper(sign=sign), ANY, aim).misfit
    surprise = known.misfit - least
    limit *= max(1.0, least / max(1, 3 * len(readings) - 3 - freedom))
    if surprise > limit:
        wider = replace(learned, covariance=_no_wider(learned.covariance * surprise / freedom))
        known = estimate(readings, wider.paper(sign), wider.prior(), aim)
    return Fitted(known, max(0.0, surprise), limit)


def fit_without_odd(
    readings: Sequence[Reading], learned: Learned | None, aim: Sequence[float], sign: int = 1
) -> tuple[Fitted, Odd | None]:
    """As ``fit``, of all but a patch that does not belong with them, if it can be left out; and which one is odd, if any."""
    whole = fit(readings, learned, aim, sign)
    odd = odd_patch(readings, whole.known, lambda some: fit(some, learned, aim, sign).known)
    if odd is None or not odd.alone:
        return whole, odd
    return fit([*readings[: odd.which], *readings[odd.which + 1 :]], learned, aim, sign), odd


def learn(lessons: Sequence[Lesson], sign: int = 1) -> Learned | None:
    """What ``lessons`` teach, those furthest apart first and then in their order; None when none of them does.

    One with a single setting teaches nothing, since its negative is unknown; nor does one that darkens the wrong way for
    ``sign``.
    """
    now: Learned | None = None
    apart = 0
    for lesson in sorted(lessons, key=lambda each: -each.apart):
        if not _teaches(lesson.readings, sign):
            continue
        now = _nearer(now, apart, lesson.apart)
        now, apart = _taught(now, lesson, sign), lesson.apart
    return _nearer(now, apart, 0)


def _nearer(known: Learned | None, apart: int, to: int) -> Learned | None:
    """What is known for one negative more, ``to`` so far apart where the last was ``apart``."""
    if known is None:
        return None
    steps = [APART[n] for n in range(to + 1, apart + 1)]
    return replace(known, covariance=_no_wider(known.covariance + _more([DRIFT, *steps])))


def _more(doubts: Sequence[tuple[float, float, float]]) -> Array:
    head, slope, skew = (sum(each[n] ** 2 for each in doubts) for n in (0, 1, 2))
    return np.diag([head] * 9 + [slope] * 3 + [skew] * 3)


def _taught(before: Learned | None, lesson: Lesson, sign: int) -> Learned:
    fitted, _ = fit_without_odd(lesson.readings, before, lesson.aim, sign)
    known, numbers = fitted.known, sorted({r.sheet for r in lesson.readings})
    count = list(before.sheets if before else (0, 0, 0))
    count[lesson.apart] += len(numbers)
    odd = before.odd if before else ()
    return Learned(
        known.head,
        known.paper.slope,
        known.paper.skew,
        known.covariance[3:18, 3:18],
        (count[0], count[1], count[2]),
        (*odd, *numbers) if fitted.doubted else odd,
    )


def _teaches(readings: Sequence[Reading], sign: int) -> bool:
    light = np.asarray([np.log10(r.seconds) - sum(r.controls) / 3 for r in readings])
    dark = np.asarray([sum(r.density) for r in readings])
    return _ways(readings) > 0 and sign * float((light - light.mean()) @ (dark - dark.mean())) > 0


def _ways(readings: Sequence[Reading]) -> int:
    """In how many ways, of time and controls, the settings differ."""
    settings = np.asarray([[np.log10(r.seconds), *r.controls] for r in readings])
    return int(np.linalg.matrix_rank(settings - settings.mean(axis=0), tol=SAME))


def _no_wider(covariance: Array) -> Array:
    """``covariance``, nothing in it more uncertain than what is believed of any head and paper."""
    share = np.sqrt(np.minimum(1, np.diag(Prior().learned()) / np.diag(covariance)))
    return np.asarray(covariance * np.outer(share, share))
