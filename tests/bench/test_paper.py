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
