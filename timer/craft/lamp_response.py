"""Full-light seconds and the lamp-on time that delivers them.

A lamp starts ``delay`` seconds late and rises with time constant ``rise``; both are *dose* parameters, found by
matching exposures, not by reading a rise time. With u = lamp-on time - delay the light given, in seconds of steady
light, is  D = u - rise (1 - exp(-u / rise)).  The inverse has a closed form in Lambert's W; Newton's method from
u = D + rise, on the right of the root of a convex function, needs no library and cannot overshoot.
"""

import itertools
import math
from dataclasses import dataclass


@dataclass(frozen=True)
class LampResponse:
    """Seconds: ``delay`` before light, ``rise`` time constant. Both 0 is a lamp taken as instant (not calibrated).

    A filament that was lit a moment ago starts warm, and delay and rise are less by a share: ``warm`` has pairs of
    (seconds since it went off, share), the gaps going up; between them the share is interpolated over log gap.
    """

    delay: float = 0.0
    rise: float = 0.0
    warm: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        if not (0 <= self.rise < 10 and -1 < self.delay < 10):
            raise ValueError("a lamp's delay and rise are seconds, each below 10, and the rise is not negative")


INSTANT = LampResponse()


def after_gap(response: LampResponse, gap: float | None) -> LampResponse:
    """The response of a lamp that was switched off ``gap`` seconds ago; None: long ago, cold."""
    if gap is None or not response.warm:
        return response
    left = 1 - _warm_share(response.warm, max(gap, 1e-3))
    return LampResponse(response.delay * left, response.rise * left)


def _warm_share(warm: tuple[tuple[float, float], ...], gap: float) -> float:
    if gap <= warm[0][0]:
        return warm[0][1]
    for (low, before), (high, after) in itertools.pairwise(warm):
        if gap <= high:
            return before + (after - before) * math.log(gap / low) / math.log(high / low)
    return 0.0


def full_light(on_time: float, response: LampResponse) -> float:
    """Full-light seconds that ``on_time`` seconds of lamp-on time deliver."""
    u = max(0.0, on_time - response.delay)
    if on_time <= 0 or u == 0:
        return 0.0
    if response.rise == 0:
        return u
    return u + response.rise * math.expm1(-u / response.rise)


def on_time(seconds: float, response: LampResponse) -> float:
    """Lamp-on time in seconds that delivers ``seconds`` of full light; 0 for none."""
    if seconds <= 0:
        return 0.0
    rise = response.rise
    if rise == 0:
        return seconds + response.delay
    u = seconds + rise
    for _ in range(40):
        step = (u + rise * math.expm1(-u / rise) - seconds) / -math.expm1(-u / rise)
        u -= step
        if abs(step) < 1e-13:
            break
    return u + response.delay
