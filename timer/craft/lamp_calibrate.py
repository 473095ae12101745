"""A lamp's response from doses: by prints that match, or by a light sensor's trace.

Fitted from doses and not from rise times: numbers read off a rise curve are wrong by up to 0.14 stop in short ones.
"""

import math
from collections.abc import Callable, Sequence

from timer.craft.lamp_response import LampResponse

RISE_SHARE = 0.6
"""Of the loss that one print test gives, the part put down to the rise; the rest is delay. Usual for halogen lamps."""


def deficit_from_prints(bursts: int, seconds: float, long_seconds: float) -> float:
    """Seconds lost at each start, when ``bursts`` of ``seconds`` print the same tone as one of ``long_seconds``.

    (N t - T') / (N - 1). Wait 5 s or more between the bursts, or the warm filament hides part of it.
    """
    if bursts < 2 or not 0 < long_seconds <= bursts * seconds:
        raise ValueError(
            f"{bursts} bursts of {seconds:g} s cannot match one of {long_seconds:g} s: the long one is at most "
            f"{bursts * seconds:g} s, since bursts lose light"
        )
    return (bursts * seconds - long_seconds) / (bursts - 1)


def response_from_deficit(deficit: float) -> LampResponse:
    """A response that loses ``deficit`` on every burst of half a second or more."""
    return LampResponse(deficit * (1 - RISE_SHARE), deficit * RISE_SHARE)


def response_from_doses(long_deficit: float, short_on: float, short_dose: float) -> LampResponse:
    """Delay and rise from the deficit of a long burst and the full-light dose of a short one (0.25 s does well).

    Closed form: with g = short_on - long deficit and e' = what the short burst lost less, tau = g / W0(g / (e e')).
    ValueError when the two do not fit one lamp.
    """
    short_deficit = short_on - short_dose
    g, less = short_on - long_deficit, long_deficit - short_deficit
    if long_deficit <= 0:
        return LampResponse()
    if g <= 0 or less <= 1e-6:
        return LampResponse(0.0, long_deficit) if less > 0 else LampResponse(long_deficit, 0.0)
    tau = g / lambert_w(g / (math.e * less))
    if not 0 < tau < 5:
        raise ValueError("the short and the long dose do not fit one lamp; measure both again, the lamp cold")
    return LampResponse(long_deficit - tau, tau)


def warmed(cold: LampResponse, gaps: Sequence[float], deficits: Sequence[float]) -> LampResponse:
    """``cold`` with its warm start: ``deficits`` of a long burst, each so many seconds (``gaps``) after another."""
    total = cold.delay + cold.rise
    shares = [min(0.99, max(0.0, 1 - deficit / total)) for deficit in deficits]
    return LampResponse(cold.delay, cold.rise, tuple(zip(gaps, shares, strict=True)))


def dose_of_trace(times: Sequence[float], values: Sequence[float], full: float) -> float:
    """Full-light seconds under a sensor's trace: trapezoids over ``full``, its reading in steady light."""
    if len(times) != len(values) or len(times) < 2 or full <= 0:
        raise ValueError("a trace needs two columns of at least two rows, and steady light above zero")
    pairs = range(1, len(times))
    if any(times[n] <= times[n - 1] for n in pairs):
        raise ValueError("the times of a trace must go up")
    return sum((times[n] - times[n - 1]) * (values[n] + values[n - 1]) / 2 for n in pairs) / full


def fit(dose: Callable[[float], float], gap_dose: Callable[[float], float] | None = None) -> LampResponse:
    """A response from a lamp that can be asked: ``dose`` of a cold burst, ``gap_dose`` of a 2 s burst after a gap."""
    long_deficit = 8.0 - dose(8.0)
    cold = response_from_doses(long_deficit, 0.25, dose(0.25))
    if gap_dose is None or long_deficit < 1e-4:
        return cold
    gaps = (0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0, 12.0)
    return warmed(cold, gaps, [2.0 - gap_dose(gap) for gap in gaps])


def lambert_w(x: float) -> float:
    """The principal branch of Lambert's W for x > 0, by Newton's method."""
    if x <= 0:
        raise ValueError("W is taken of numbers above zero here")
    w = math.log1p(x)
    for _ in range(50):
        e = math.exp(w)
        step = (w * e - x) / (e * (1 + w))
        w -= step
        if abs(step) < 1e-14 * (1 + abs(w)):
            break
    return w
