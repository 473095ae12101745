"""From readings to the next setting: damped least squares with priors, and the model turned round. ``docs/method.md``.

Units as in ``sensitometry``: log10 time, controls in density (20 CC is 0.20), densities.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from timer.craft.paper import COLOUR_S
from timer.craft.sensitometry import Array, Paper, densities, dye_by_skew, dye_slopes, exposures_for, layer_exposures

STRAIGHT = (0.3, 1.5)
"""Densities between which a reading counts in full; outside a curve's form matters, and ours is a guess."""
UNLIKE = 0.1
"""Error that a reading has for each density that it is off the aim, because no paper (and no scanner) has just our
curve."""
ALIKE = 0.6
"""Density: of two readings as far from each other as this, those errors go together by 1/e. Both, and ``skew_error``, were
chosen by ``tests/benchmarks/sheets_to_print.py``, seeds 2 to 6."""
FORM, FORM_NEAR = 0.35, 0.013
"""Of a prediction: error for each density from the nearest reading, and where there is one. So chosen that what is said to
be within twice the error is so 19 times in 20, same place and seed."""
SKEWED = 2.0
"""The inverse hyperbolic tangent of the most skew that a curve is taken to have."""
TRUST = 0.6
"""The most that one step changes a layer's log10 exposure: two stops."""


@dataclass(frozen=True)
class Reading:
    """Densities (red, green, blue) of one patch, ``error`` one standard deviation, ``shared`` that of what all three are off
    by together; made at ``seconds`` with ``controls`` on sheet number ``sheet``."""

    seconds: float
    controls: tuple[float, float, float]
    density: tuple[float, float, float]
    error: float = 0.01
    sheet: int = 0
    shared: float = 0.0


@dataclass(frozen=True, eq=False)
class Prior:
    """What is believed before any reading, and how firmly (one standard deviation).

    ``process``: what baths and lamp do to one whole sheet, in log10 exposure of each layer. ``known`` (15, 15): what sheets
    before have taught, a covariance of the head row by row, log slopes and skews, in the place of the three errors.
    """

    head: Array = field(default_factory=lambda: np.full((3, 3), 0.05) + 0.95 * np.eye(3))
    head_error: Array = field(default_factory=lambda: np.full((3, 3), 0.05) + 0.15 * np.eye(3))
    slope_error: float = 0.15
    """Of the natural logarithm: 15 %."""
    skew_error: float = 0.3
    """Of the inverse hyperbolic tangent of the curve's skew."""
    a_error: float = 2.0
    process: float = 0.004
    known: Array | None = None

    def learned(self) -> Array:
        """Covariance (15, 15) of the head row by row, log slopes and skews."""
        if self.known is not None:
            return self.known
        curve = np.repeat([self.slope_error, self.skew_error], 3)
        return np.asarray(np.diag(np.concatenate([self.head_error.ravel(), curve]) ** 2))


@dataclass(frozen=True, eq=False)
class Estimate:
    """What the readings say: ``a`` (3), ``head`` (3, 3), ``paper``, and ``covariance`` (18, 18) of a, head row by row,
    log slopes and skews (their inverse hyperbolic tangents).

    ``read`` (n, 3): the densities; ``residuals`` (n, 3): those less the predicted ones. ``sheets``: how many there are.
    ``misfit``: the least sum of squares, of readings and of what was believed: about the number of densities less three.
    """

    a: Array
    head: Array
    paper: Paper
    covariance: Array
    residuals: Array
    process: float
    sheets: int
    read: Array = field(default_factory=lambda: np.zeros((0, 3)))
    misfit: float = 0.0

    def predict(self, seconds: float, controls: Sequence[float]) -> Array:
        """Densities (3) at a setting."""
        return np.asarray(densities(self.paper, self._exposures(seconds, controls))[0])

    def spread(self, seconds: float, controls: Sequence[float]) -> Array:
        """Covariance (3, 3) of the densities of a next sheet at that setting, its baths included."""
        x = self._exposures(seconds, controls)
        u = np.asarray([controls], dtype=float)
        jacobian = _jacobian(self.paper, x, u)[0]
        by_layer = self.paper.dyes.T * dye_slopes(self.paper, x)[0]
        of_sheet = self.process**2 * by_layer @ by_layer.T
        return np.asarray(jacobian @ self.covariance @ jacobian.T + of_sheet + self._form(densities(self.paper, x)[0]))

    def _form(self, density: Array) -> Array:
        """What the form of the curve may be wrong by, on the way from the nearest reading (3, 3); half is in all."""
        if not len(self.read):
            return np.zeros((3, 3))
        far = FORM * np.min(np.abs(self.read - density), axis=0) + FORM_NEAR
        return np.asarray((np.eye(3) + 1) / 2 * np.outer(far, far))

    def _exposures(self, seconds: float, controls: Sequence[float]) -> Array:
        return layer_exposures(self.a, self.head, np.log10([seconds]), np.asarray([controls], dtype=float))


@dataclass(frozen=True, eq=False)
class Next:
    """The next setting: ``seconds`` at an aperture ``stops`` wider than now (below 0: smaller), ``controls`` (3).

    ``density`` predicted there, ``error`` (3) one standard deviation of it, ``whole``: the step was not cut by the trust
    region, ``met``: the aim lies within what head and paper can do.
    """

    seconds: float
    controls: tuple[float, float, float]
    stops: int
    density: Array
    error: Array
    covariance: Array
    whole: bool
    met: bool


def weights(readings: Sequence[Reading], aim: Sequence[float] | None = None) -> Array:
    """1 / error of every density (n, 3); less off the straight part of the curve, and less far from the ``aim``: there the
    form of the curve matters, and ours is a guess (``UNLIKE``)."""
    read = np.asarray([r.density for r in readings])
    far = np.zeros(3) if aim is None else UNLIKE * (read - np.asarray(aim))
    shared = np.asarray([[r.shared] for r in readings])
    return np.asarray(1 / np.sqrt(_own_errors(readings, read) ** 2 + shared**2 + far**2))


def whitening(readings: Sequence[Reading], aim: Sequence[float] | None = None) -> Array:
    """The matrix (3n, 3n) that makes the errors of all densities, reading by reading, independent and of variance 1.

    What an instrument is wrong by is each density's own, but for what a look has in common. What our curve is wrong by is
    much the same for densities that are near each other, on one side of the ``aim`` or on both: two patches as dark as each
    other tell how they differ, in spite of it, and do not tell twice where the curve is. In each colour its covariance falls
    off as exp(-distance / ``ALIKE``).
    """
    read = np.asarray([r.density for r in readings])
    far = np.zeros_like(read) if aim is None else UNLIKE * np.abs(read - np.asarray(aim))
    alike = np.exp(-np.abs(read[:, None] - read[None]) / ALIKE)  # n, n, band
    covariance = np.zeros((len(read), 3, len(read), 3))
    for band in range(3):
        covariance[:, band, :, band] = far[:, None, band] * far[None, :, band] * alike[:, :, band]
    for n, reading in enumerate(readings):
        covariance[n, :, n, :] += reading.shared**2
    whole = covariance.reshape(read.size, read.size) + np.diag(_own_errors(readings, read).ravel() ** 2)
    return np.asarray(np.linalg.inv(np.linalg.cholesky(whole)))


def _own_errors(readings: Sequence[Reading], read: Array) -> Array:
    off = np.maximum(0, STRAIGHT[0] - read) / 0.1 + np.maximum(0, read - STRAIGHT[1]) / 0.3
    return np.asarray([[r.error] for r in readings]) * (1 + off**2)


def estimate(
    readings: Sequence[Reading],
    paper: Paper | None = None,
    prior: Prior | None = None,
    aim: Sequence[float] | None = None,
) -> Estimate:
    """The most likely a, head and slopes, by Levenberg's and Marquardt's damped least squares. ValueError without readings.

    ``paper``, ``prior``: what is believed, or learned before. ``aim``: densities near which the fit is to be best.
    """
    if not readings:
        raise ValueError("there are no readings to solve from")
    paper, prior = paper or Paper(), prior or Prior()
    problem = problem_of(readings, paper, prior, aim)
    theta, jacobian = _least(problem, problem.begin())
    covariance = np.asarray(np.linalg.inv(jacobian.T @ jacobian)[:18, :18])
    a, head, fitted, _ = problem.parts(theta)
    misfit = float(np.sum(problem.residuals(theta) ** 2))
    return Estimate(a, head, fitted, covariance, problem.misses(theta), prior.process, problem.sheets, problem.read, misfit)


@dataclass(frozen=True, eq=False)
class Problem:
    """Readings and priors as residuals of a vector: a (3), head (9), log slope ratio (3), skew (3, its inverse hyperbolic
    tangent less that of the paper), each sheet's shift (3).

    ``centre``: what is believed of it; ``firm``: the root of its information, so that firm (theta - centre) has variance 1;
    ``white``: the same of the readings.
    """

    log_time: Array
    controls: Array
    read: Array
    white: Array
    sheet: Array
    sheets: int
    paper: Paper
    prior: Prior
    centre: Array
    firm: Array

    def begin(self) -> Array:
        """A new vector to start from: what is believed before any reading."""
        return self.centre.copy()

    def parts(self, theta: Array) -> tuple[Array, Array, Paper, Array]:
        """The vector ``theta`` taken apart: a (3), head (3, 3), paper, shifts (sheets, 3)."""
        skew = np.tanh(np.clip(np.arctanh(self.paper.skew) + theta[15:18], -SKEWED, SKEWED))
        paper = replace(self.paper, slope=self.paper.slope * np.exp(theta[12:15]), skew=skew)
        return theta[:3], theta[3:12].reshape(3, 3), paper, theta[18:].reshape(self.sheets, 3)

    def misses(self, theta: Array) -> Array:
        """Read less predicted (n, 3)."""
        _, paper, x = self._at(theta)
        return np.asarray(self.read - densities(paper, x))

    def residuals(self, theta: Array) -> Array:
        """Each over its error: the readings, then the priors."""
        return np.concatenate([self.white @ -self.misses(theta).ravel(), self.firm @ (theta - self.centre)])

    def jacobian(self, theta: Array) -> Array:
        """Derivatives of the ``residuals`` by ``theta``: one row a residual, one column an entry."""
        count = len(self.read)
        _, paper, x = self._at(theta)
        known = _jacobian(paper, x, self.controls)
        shifts = np.zeros((count, 3, self.sheets, 3))
        shifts[np.arange(count), :, self.sheet] = known[:, :, :3]
        whole = np.concatenate([known, shifts.reshape(count, 3, -1)], axis=2).reshape(3 * count, -1)
        return np.concatenate([self.white @ whole, self.firm])

    def _at(self, theta: Array) -> tuple[Array, Paper, Array]:
        a, head, paper, shifts = self.parts(theta)
        return a, paper, layer_exposures(a, head, self.log_time, self.controls) + shifts[self.sheet]


def problem_of(readings: Sequence[Reading], paper: Paper, prior: Prior, aim: Sequence[float] | None = None) -> Problem:
    """The least-squares problem; its ``residuals`` and ``jacobian`` fit any solver."""
    log_time = np.log10([r.seconds for r in readings])
    controls = np.asarray([r.controls for r in readings], dtype=float)
    read = np.asarray([r.density for r in readings], dtype=float)
    weight = weights(readings, aim)
    names = sorted({r.sheet for r in readings})
    sheet = np.asarray([names.index(r.sheet) for r in readings])
    there = np.asarray([exposures_for(paper, d, nearest=True) for d in read])
    a = np.average(there - layer_exposures(np.zeros(3), prior.head, log_time, controls), axis=0, weights=weight)
    shifts = 3 * len(names)
    centre = np.concatenate([a, prior.head.ravel(), np.zeros(6 + shifts)])
    firm = np.diag(1 / np.concatenate([np.full(3, prior.a_error), np.ones(15), np.full(shifts, prior.process)]))
    firm[3:18, 3:18] = np.linalg.inv(np.linalg.cholesky(prior.learned()))
    return Problem(log_time, controls, read, whitening(readings, aim), sheet, len(names), paper, prior, centre, firm)


def _jacobian(paper: Paper, x: Array, controls: Array) -> Array:
    """dD_i / d(a, head, log slope, artanh skew), (n, 3, 18)."""
    by_layer = paper.dyes.T[None] * dye_slopes(paper, x)[:, None, :]  # n, i, j
    by_head = -by_layer[:, :, :, None] * controls[:, None, None, :]
    by_skew = paper.dyes.T[None] * ((1 - paper.skew**2) * dye_by_skew(paper, x))[:, None, :]
    return np.concatenate([by_layer, by_head.reshape(len(x), 3, 9), by_layer * x[:, None, :], by_skew], axis=2)


def _least(problem: Problem, theta: Array, most: int = 1000) -> tuple[Array, Array]:
    damp, residuals = 1e-3, problem.residuals(theta)
    jacobian = problem.jacobian(theta)
    for _ in range(most):
        normal, slope = jacobian.T @ jacobian, jacobian.T @ residuals
        step = -np.linalg.solve(normal + damp * np.diag(np.diag(normal)), slope)
        there = problem.residuals(theta + step)
        if there @ there <= residuals @ residuals:
            theta, damp = theta + step, damp / 5
            residuals, jacobian = there, problem.jacobian(theta)
            if np.max(np.abs(step)) < 1e-9:
                break
        else:
            damp *= 4
            if damp > 1e12:
                break
    return theta, jacobian


# ── the next setting ─────────────────────────────────────────────────────────


def next_setting(
    known: Estimate,
    now: tuple[float, tuple[float, float, float]],
    aim: Sequence[float],
    *,
    floor: float = 0.0,
    top: float = 2.5,
    grain: float = 0.0,
    times: tuple[float, float] = COLOUR_S,
    share: float = 1.0,
) -> Next:
    """The setting that makes ``aim`` (3 densities), from the one that is set ``now`` (seconds, controls).

    No control below ``floor`` (0 on a dial; of three lights that of the brightest one), one at least standing there: neutral
    density is taken out through the model, and the time follows. None above ``top``. ``grain``: the head's smallest step.
    ``share``: how much of the way is gone. Outside of ``times`` whole stops of aperture are taken. ValueError when the
    paper has no such density.
    """
    here = known._exposures(*now)[0]
    way = exposures_for(known.paper, aim) - here
    far = float(np.max(np.abs(way)))
    wanted = here + way * share * min(1.0, TRUST / far if far else 1.0)
    controls, log_time = _setting_for(known, wanted, floor, top)
    if grain:
        controls = np.clip(np.round(controls / grain) * grain, floor, top)
        log_time = time_for(known, wanted, controls, dye_slopes(known.paper, wanted) ** 2)
    left = layer_exposures(known.a, known.head, np.asarray([log_time]), controls[None])[0] - wanted
    seconds, stops = _within(10**log_time, times)
    of = (float(controls[0]), float(controls[1]), float(controls[2]))
    spread = known.spread(10**log_time, of)
    return Next(
        seconds,
        of,
        stops,
        known.predict(10**log_time, of),
        np.sqrt(np.diag(spread)),
        spread,
        far <= TRUST,
        bool(np.max(np.abs(left)) < max(0.01, grain)),
    )


def _setting_for(known: Estimate, wanted: Array, floor: float, top: float) -> tuple[Array, float]:
    """Controls and log10 time for layer exposures ``wanted``: one control or more at ``floor``, the rest free or at an end,
    of all such ways the nearest."""
    best: tuple[float, Array, float] | None = None
    counts = dye_slopes(known.paper, wanted)  # a miss counts by what it does to the print
    for ends in product((floor, None, top), repeat=3):
        if floor not in ends:
            continue
        free = [k for k in range(3) if ends[k] is None]
        controls = np.asarray([end or 0.0 for end in ends])
        columns = np.column_stack([np.ones(3), -known.head[:, free]]) * counts[:, None]
        target = (wanted - known.a + known.head @ controls) * counts
        found, *_ = np.linalg.lstsq(columns, target, rcond=None)
        controls[free] = found[1:]
        miss = float(np.linalg.norm(columns @ found - target))
        if np.all((controls > floor - 1e-9) & (controls < top + 1e-9)) and (best is None or miss < best[0] - 1e-9):
            best = (miss, np.clip(controls, floor, top), float(found[0]))
    assert best  # all at the floor is always a way
    return best[1], best[2]


def time_for(known: Estimate, wanted: Array, controls: Array, shares: Array) -> float:
    """log10 time that with ``controls`` comes nearest to exposures ``wanted``; ``shares`` (3): how much each counts."""
    return float(np.average(wanted - known.a + known.head @ controls, weights=shares))


def _within(seconds: float, times: tuple[float, float]) -> tuple[float, int]:
    """``seconds`` brought between ``times`` by whole stops of aperture, and how many wider."""
    stops = 0
    while seconds * 2.0**-stops > times[1] and stops < 12:
        stops += 1
    while seconds * 2.0**-stops < times[0] and stops > -12:
        stops -= 1
    return seconds * 2.0**-stops, stops
