"""A lamp's response from doses: by prints that match, or by a light sensor's traces.

Fitted from doses and not from rise times: numbers read off a rise curve are wrong by up to 0.14 stop in short ones.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import combinations_with_replacement

from timer.craft.lamp_response import HEATED_S, SOONEST_S, LampResponse, full_light, on_time, shape

RISE_SHARE = 0.6
"""Of the loss that one print test gives, the part put down to the rise; the rest is delay. Usual for halogen lamps."""
LESS_SHARE = 1.3
"""Where only one rest was measured: less over the lag. The bench's halogens have 1.15 on a soft supply to 1.5 on a stiff."""
SLOWEST_S, QUICKEST_S, SLOWEST_LAG_S = 30.0, 0.05, 5.0
LEAST_S = 1e-6
INSTANT_S, SEEN_S = 0.002, 0.002
"""A lamp that loses less than the one is instant; and a light of more than half a second that lost less than the other
short of what the long one did says nothing of the rise: noise is as much."""


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
    """A response that loses ``deficit`` on every burst that is long enough for its rise to be over."""
    return LampResponse(deficit * (1 - RISE_SHARE), deficit * RISE_SHARE)


def response_from_prints(bursts: int, seconds: float, long_seconds: float) -> LampResponse:
    """The cold response by which ``bursts`` of ``seconds`` give as much as one of ``long_seconds``: N D(t) = D(T').

    A burst of half a second is over before a slow lamp has come up, and loses less than the long one: by bisection between
    the plain deficit, which takes both for alike, and a lamp whose bursts are dark. ValueError for what no lamp does.
    """
    low, high = deficit_from_prints(bursts, seconds, long_seconds), min(seconds / (1 - RISE_SHARE), SLOWEST_LAG_S)

    def more(lag: float) -> float:
        lamp = response_from_deficit(lag)
        return bursts * full_light(seconds, lamp) - full_light(long_seconds, lamp)

    if low >= high or long_seconds <= seconds or more(high) > 0:
        raise ValueError(f"no lamp gives with {bursts} bursts of {seconds:g} s as little as with one of {long_seconds:g} s")
    return response_from_deficit(_root(lambda lag: -more(lag), low, high))


def shorter_from_prints(cold: LampResponse, bursts: int, seconds: float, long_seconds: float) -> float:
    """Seconds that a warm start loses less than a cold one, where ``bursts`` close together match one of ``long_seconds``.

    D(t) + (N - 1) D(t + shorter) = D(T'): the first burst is cold, the others begin where it would be so much later. What
    lies beyond any lamp is given as the plain deficits have it, for ``with_recovery`` to refuse.
    """
    plain = cold.lag - deficit_from_prints(bursts, seconds, long_seconds)
    wanted = full_light(long_seconds, cold) - full_light(seconds, cold)

    def more(shorter: float) -> float:
        return (bursts - 1) * min(full_light(seconds + shorter, cold), seconds) - wanted

    low, high = -0.05, cold.lag + 0.01
    return _root(more, low, high) if more(low) < 0 < more(high) else plain


def _root(rising: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if rising(middle) >= 0 else (middle, high)
    return high


def error_of_prints(bursts: int, long_seconds: float, stops: float) -> float:
    """Seconds by which the loss at each start comes out wrong, when the match of a print test is off by ``stops``.

    T' (2^stops - 1) / (N - 1): the long exposure is taken for T' 2^stops in the place of T', the bursts were what they were.
    """
    return long_seconds * (2 ** abs(stops) - 1) / (bursts - 1)


def stops_of_error(lost: float, seconds: float) -> float:
    """Stops by which exposures of ``seconds`` are off where the loss at a start is wrong by ``lost`` seconds."""
    return math.log2(1 + lost / seconds)


# ── by doses ─────────────────────────────────────────────────────────────────


def response_from_doses(long_deficit: float, short_on: float, short_dose: float) -> LampResponse:
    """Delay and rise from the deficit of a long burst and the full-light dose of a short one (0.25 s does well).

    Closed form: with g = short_on - long deficit and e' = what the short burst lost less, tau = g / W0(g / (e e')).
    A slow lamp has g below zero; the argument is then between -1/e and 0, and at -1/e the short burst gave no light.
    ValueError when the two do not fit one lamp, or when the short light is so long that it cannot show the rise.
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
    if less < SEEN_S and short_on > HEATED_S and long_deficit > INSTANT_S:
        raise ValueError(
            f"a light of {short_on:g} s is too long to show the rise, it lost as much as the long one "
            f"({(long_deficit - less) * 1000:.0f} and {long_deficit * 1000:.0f} ms); measure the short one with 0.25 s"
        )
    if less <= LEAST_S:
        return LampResponse(long_deficit, 0.0)
    tau = _rise(g, less)
    if tau >= 5:
        raise ValueError("the short and the long light do not fit one lamp; measure both again, the lamp cold")
    return LampResponse(long_deficit - tau, tau)


def _rise(g: float, less: float) -> float:
    """The tau of ``response_from_doses``; less is above -g, since the short light gave something."""
    return math.e * less if abs(g) < 1e-9 else g / lambert_w(g / (math.e * less))


def rise_range(long_deficit: float, short_on: float, short_dose: float, doubt: float) -> tuple[float, float]:
    """The least and the greatest rise that ``response_from_doses`` would find if the two doses were off by ``doubt``
    seconds together; a lamp whose light comes before it is switched on is none, so the greatest is the lag."""
    g, less = short_on - long_deficit, long_deficit - (short_on - short_dose)
    least, most = (_rise(g, one) if one > max(LEAST_S, -1.001 * g) else 0.0 for one in (less - doubt, less + doubt))
    return min(least, long_deficit), min(most, long_deficit)


def with_recovery(cold: LampResponse, rests: Sequence[float], shorter: Sequence[float]) -> LampResponse:
    """``cold`` with its warm start: ``shorter`` seconds lost less than cold, ``rests`` seconds after another light.

    One rest gives the recovery, with a usual share of the lag as its ``less``; two or more give both numbers, so that
    the largest difference in seconds is the least. ValueError when no warm start was seen, or none that a lamp has.
    """
    if not rests or len(rests) != len(shorter) or any(not SOONEST_S <= rest <= 60 for rest in rests):
        raise ValueError(f"a rest between two lights is {SOONEST_S:g} to 60 s here")
    if cold.lag < INSTANT_S:
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
    return with_recovery(cold, rests, [on_time(gap_dose(rest), cold) - 2.0 for rest in rests])


def lambert_w(x: float) -> float:
    """The principal branch of Lambert's W for x > -1/e, by Newton's method."""
    if x <= -1 / math.e:
        raise ValueError("W is taken of numbers above -1/e here")
    w = math.log1p(x)  # not below W; as w e^w is convex, from there every step falls, until it is there
    while (lower := (w * w + x * math.exp(-w)) / (1 + w)) < w:
        w = lower
    return w
