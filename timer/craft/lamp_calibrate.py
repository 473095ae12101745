"""A lamp's response from doses: by prints that match, or by a light sensor's traces.

Fitted from doses and not from rise times: numbers read off a rise curve are wrong by up to 0.14 stop in short ones.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import combinations_with_replacement

from timer.craft.lamp_response import SOONEST_S, LampResponse, shape

RISE_SHARE = 0.6
"""Of the loss that one print test gives, the part put down to the rise; the rest is delay. Usual for halogen lamps."""
LESS_SHARE = 1.3
"""Where only one rest was measured: less over the lag. The bench's halogens have 1.15 on a soft supply to 1.5 on a stiff."""
SLOWEST_S, QUICKEST_S = 30.0, 0.05


# ── by prints ────────────────────────────────────────────────────────────────


def deficit_from_prints(bursts: int, seconds: float, long_seconds: float) -> float:
    """Seconds lost at each start, when ``bursts`` of ``seconds`` print the same tone as one of ``long_seconds``.

    (N t - T') / (N - 1). The bursts all start alike: cold (15 s of rest and more), or all but the first after the same
    short rest; then it is what such a warm start loses.
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


def error_of_prints(bursts: int, seconds: float, stops: float) -> float:
    """What an error of ``stops`` in the match of a print test does to exposures of the same ``seconds``, in stops.

    The long exposure is off by that factor, so the loss at each start by T' (2^stops - 1) / (N - 1).
    """
    lost = bursts * seconds * (2 ** abs(stops) - 1) / (bursts - 1)
    return math.log2(1 + lost / seconds)


# ── by doses ─────────────────────────────────────────────────────────────────


def response_from_doses(long_deficit: float, short_on: float, short_dose: float) -> LampResponse:
    """Delay and rise from the deficit of a long burst and the full-light dose of a short one (0.25 s does well).

    Closed form: with g = short_on - long deficit and e' = what the short burst lost less, tau = g / W0(g / (e e')).
    A slow lamp has g below zero; the argument is then between -1/e and 0, and at -1/e the short burst gave no light.
    ValueError when the two do not fit one lamp.
    """
    if short_dose > 1.05 * short_on:  # a little more than full an LED may give, which is brightest cold
        raise ValueError(
            f"the short light gave {short_dose:.3f} s of full light in {short_on:g} s of lamp-on time: is it the right "
            "file, and --short-on the time it was on?"
        )
    if short_dose <= 0.02 * short_on:
        raise ValueError(
            f"in {short_on:g} s this lamp gives next to no light; measure the short one with {2 * short_on:g} s"
        )
    if long_deficit <= 0:
        return LampResponse()
    g, less = short_on - long_deficit, long_deficit - (short_on - short_dose)
    if less <= 1e-6:
        return LampResponse(long_deficit, 0.0)
    at = g / (math.e * less)  # above -1/e, since the short light gave something
    tau = math.e * less if abs(g) < 1e-9 else g / lambert_w(at)
    if tau >= 5:
        raise ValueError("the short and the long light do not fit one lamp; measure both again, the lamp cold")
    return LampResponse(long_deficit - tau, tau)


def with_recovery(cold: LampResponse, rests: Sequence[float], shorter: Sequence[float]) -> LampResponse:
    """``cold`` with its warm start: ``shorter`` seconds lost less than cold, ``rests`` seconds after another light.

    One rest gives the recovery, with a usual share of the lag as its ``less``; two or more give both numbers, so that
    the largest difference in seconds is the least. ValueError when no warm start was seen, or none that a lamp has.
    """
    if not rests or len(rests) != len(shorter) or any(not SOONEST_S <= rest <= 60 for rest in rests):
        raise ValueError(f"a rest between two lights is {SOONEST_S:g} to 60 s here")
    if cold.lag < 0.002:
        return cold  # instant: there is nothing to recover from
    if min(shorter) < -0.01 or max(shorter) > cold.lag + 0.002:
        raise ValueError(
            f"a warm start that saves {min(shorter) * 1000:.0f} to {max(shorter) * 1000:.0f} ms does not fit a lamp that "
            f"loses {cold.lag * 1000:.0f} ms cold; measure again"
        )
    if max(shorter) < 0.0005:
        return cold  # as good as cold after every rest that was tried
    found = []
    for n in range(601):
        recovery = QUICKEST_S * (SLOWEST_S / QUICKEST_S) ** (n / 600)
        shares = [shape(rest / recovery) for rest in rests]
        less = LESS_SHARE * cold.lag if len(rests) == 1 else _flattest(shares, shorter)
        less = min(max(less, 0.0), 0.999, cold.lag / shape(SOONEST_S / recovery))
        worst = max(abs(less * share - value) for share, value in zip(shares, shorter, strict=True))
        found.append((worst, recovery, less))
    worst, recovery, less = min(found)
    if worst > max(0.004, 0.05 * cold.lag):
        raise ValueError(f"no lamp recovers like that: the best fit misses by {worst * 1000:.0f} ms; measure again")
    return replace(cold, less=less, recovery=recovery)


def _flattest(shares: Sequence[float], values: Sequence[float]) -> float:
    """The factor on ``shares`` that brings the largest difference from ``values`` down to its least: there two of them, one
    too high and one too low, differ by as much (or a single one by nothing)."""
    rows = list(zip(shares, values, strict=True))
    factors = ((v + w) / (s + t) for (s, v), (t, w) in combinations_with_replacement(rows, 2) if s + t > 1e-9)
    return min(factors, key=lambda k: max(abs(k * s - v) for s, v in rows), default=0.0)


def fit(dose: Callable[[float], float], gap_dose: Callable[[float], float] | None = None) -> LampResponse:
    """A response from a lamp that can be asked: ``dose`` of a cold burst, ``gap_dose`` of a 2 s burst after a rest."""
    long_deficit = 8.0 - dose(8.0)
    cold = response_from_doses(long_deficit, 0.25, dose(0.25))
    if gap_dose is None:
        return cold
    rests = (0.3, 0.5, 1.0, 2.0, 4.0, 8.0)
    return with_recovery(cold, rests, [gap_dose(rest) - (2.0 - cold.lag) for rest in rests])


def lambert_w(x: float) -> float:
    """The principal branch of Lambert's W for x > -1/e, by Newton's method."""
    if x <= -1 / math.e:
        raise ValueError("W is taken of numbers above -1/e here")
    w = math.log1p(x)  # not below W; as w e^w is convex, from there every step falls, until it is there
    while (lower := (w * w + x * math.exp(-w)) / (1 + w)) < w:
        w = lower
    return w
