"""Curves against the definitions of ISO 6846, recomputed by scipy from sampled densities."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from timer.bench import paper


@given(st.floats(40, 180), st.floats(50, 800), st.booleans())
def test_r_and_p_recomputed_from_the_curve(r: float, p: float, net: bool) -> None:
    # highlight 0.04 above base, shadow 90 % of Dmax: Focal Encyclopedia of Photography p. 679; P = 1000/H at 0.6
    curve = paper.curve_for(r, p, net=net)
    xs = curve.middle + np.linspace(-12, 12, 4001) / curve.slope
    inverse = PchipInterpolator(curve.density(xs), xs, extrapolate=False)
    darkest = curve.base + curve.span
    shadow = curve.base + 0.9 * curve.span if net else 0.9 * darkest
    assert 100 * (inverse(shadow) - inverse(curve.base + 0.04)) == pytest.approx(r, abs=0.05)
    assert 1000 / 10 ** inverse(curve.base + 0.6) == pytest.approx(p, rel=1e-3)
    assert paper.measured(curve, net=net) == pytest.approx((r, p))


def test_softer_filters_have_longer_ranges() -> None:
    ranges = list(paper.RANGE_OF_GRADE.values())
    assert ranges == sorted(ranges, reverse=True)


def test_more_light_is_darker_and_layers_are_tinted() -> None:
    logs = np.linspace(-2, 3, 50)
    assert np.all(np.diff(paper.COLOUR.densities(np.stack([logs] * 3, -1)), axis=0) >= 0)
    none = np.array([-9.0, -9.0, -9.0])
    for n, name in enumerate(("cyan", "magenta", "yellow")):
        one = none.copy()
        one[n] = 3.0
        red, green, blue = paper.srgb(paper.COLOUR.densities(one))
        # a red leak prints cyan, a green one magenta, a blue one yellow
        assert min((red, green, blue)) == (red, green, blue)[n], name


@pytest.mark.parametrize("grade", [*paper.RANGE_OF_GRADE, ""])
def test_r_and_p_of_every_filter_recomputed(grade: str) -> None:
    # the same definitions, on a curve sampled apart from the paper's own search
    blue, green = paper.filter_light(grade)
    logs = np.linspace(-3, 4, 7001)
    inverse = PchipInterpolator(*_rising(paper.vc_density(blue * 10**logs, green * 10**logs), logs), extrapolate=False)
    r = 100 * (inverse(0.9 * 2.10) - inverse(0.06 + 0.04))
    p = 1000 / 10 ** inverse(0.06 + 0.6)
    assert r == pytest.approx(paper.RANGE_OF_GRADE.get(grade, paper.UNFILTERED_R), abs=0.2)
    # Polymax filter set, NAVEDTRA 14209: 00 to 3 1/2 alike, 4 to 5 a stop slower, no filter a stop faster
    assert p == pytest.approx({"4": 100, "4 1/2": 100, "5": 100, "": 400}.get(grade, 200), rel=0.002)


def _rising(density: np.ndarray, logs: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    rising = np.concatenate([[True], np.diff(density) > 1e-9])
    return density[rising], logs[rising]


@given(st.sampled_from(list(paper.RANGE_OF_GRADE)), st.sampled_from(list(paper.RANGE_OF_GRADE)), st.floats(0, 1))
def test_a_mixture_has_no_step_and_lies_between(one: str, other: str, share: float) -> None:
    (b1, g1), (b2, g2) = paper.filter_light(one), paper.filter_light(other)
    blue, green = share * b1 + (1 - share) * b2, share * g1 + (1 - share) * g2
    logs = np.linspace(-3, 4, 1401)
    density = paper.vc_density(blue * 10**logs, green * 10**logs)
    slope = np.gradient(density, logs)
    assert np.all(slope >= -1e-9)
    inside = slope[(density > 0.3) & (density < 1.8)]
    assert inside.min() > 0.6  # nowhere flat between highlight and shadow
    r = 100 * np.diff(np.interp([0.10, 1.89], density, logs))[0]
    ranges = sorted((paper.RANGE_OF_GRADE[one], paper.RANGE_OF_GRADE[other]))
    assert ranges[0] - 0.5 <= r <= ranges[1] + 0.5


@given(st.floats(-1, 3))
def test_layers_equally_exposed_are_grey(log: float) -> None:
    at = np.array([layer.log_exposure(0.67) for layer in paper.COLOUR.layers]) + log
    red, green, blue = paper.COLOUR.densities(at)
    assert (red, green) == (pytest.approx(green, abs=1e-9), pytest.approx(blue, abs=1e-9))
