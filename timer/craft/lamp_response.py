"""Full-light seconds, and the lamp-on time that delivers them, from a cold filament or a warm one.

A cold lamp starts ``delay`` seconds late and rises with time constant ``rise``; both are *dose* parameters, found by
matching exposures, not by reading a rise time. With u = lamp-on time - delay the light given, in seconds of steady
light, is  D = u - rise (1 - exp(-u / rise)).  The inverse has a closed form in Lambert's W; Newton's method from
u = D + rise, on the right of the root of a convex function, needs no library and cannot overshoot.

A filament that is warm still begins where a cold one would be some time after switching on. Heating depends on nothing
but the temperature, so every exposure is shorter by just that time, whatever its length:

    lamp-on time = the cold lamp's - less exp(-x) / sqrt(1 + 64 x),   x = time since the lamp went off / recovery

Radiation gives the power, conduction to leads and gas the exponential; `docs/method.md` has how well it fits.
"""

import math
from dataclasses import dataclass

SOONEST_S = 0.2
"""A lamp is taken to have rested this long at the least: nobody presses sooner, and the form is not for it."""
HEATED_S = 0.5
"""The form holds after lights of this long or longer; a shorter one does not heat the filament through."""


@dataclass(frozen=True)
class LampResponse:
    """Seconds: ``delay`` before light, ``rise`` time constant. Both 0 is a lamp taken as instant (not calibrated).

    ``less`` and ``recovery`` say how a warm start shortens them (above); a ``less`` of 0 takes the lamp as always cold.
    ValueError for what no lamp has.
    """

    delay: float = 0.0
    rise: float = 0.0
    less: float = 0.0
    recovery: float = 0.0

    def __post_init__(self) -> None:
        if not (0 <= self.rise < 10 and -1 < self.delay < 10):
            raise ValueError("a lamp's delay and rise are seconds, each below 10, and the rise is not negative")
        if not (0 <= self.less < 1 and 0 <= self.recovery <= 30) or (self.less > 0) != (self.recovery > 0):
            raise ValueError("a lamp's recovery is two numbers: less, below 1 s, and recovery, up to 30 s; or neither")
        if self.less and shortening(self, SOONEST_S) > self.lag + 1e-9:
            raise ValueError(
                f"after {SOONEST_S:g} s of rest this lamp would lose {shortening(self, SOONEST_S) * 1000:.0f} ms less, "
                f"of the {self.lag * 1000:.0f} ms that it loses cold; less is too much"
            )

    @property
    def lag(self) -> float:
        """What every exposure of half a second or more loses when it starts cold."""
        return self.delay + self.rise


INSTANT = LampResponse()


@dataclass(frozen=True)
class Order:
    """What a keeper needs before the press, µs: it takes less_us shape(rested / recovery_us) off ``on_us`` at the press."""

    on_us: int
    less_us: int
    recovery_us: int


def shape(x: float) -> float:
    """1 for no rest at all, falling to 0: the warmth that is left after ``x`` recoveries."""
    return math.exp(-x) / math.sqrt(1 + 64 * x)


def shortening(response: LampResponse, rested: float) -> float:
    """Seconds by which a lamp that went off ``rested`` seconds ago needs less lamp-on time than a cold one."""
    if response.less == 0 or math.isinf(rested):
        return 0.0
    return response.less * shape(max(rested, SOONEST_S) / response.recovery)


def full_light(on_time: float, response: LampResponse, rested: float = math.inf) -> float:
    """Full-light seconds that ``on_time`` seconds of lamp-on time deliver, ``rested`` seconds after the lamp went off."""
    if on_time <= 0:
        return 0.0
    u = on_time + shortening(response, rested) - response.delay
    if u <= 0:
        return 0.0
    light = u if response.rise == 0 else u + response.rise * math.expm1(-u / response.rise)
    return min(light, on_time) if response.less else light


def on_time(seconds: float, response: LampResponse, rested: float = math.inf) -> float:
    """Lamp-on time in seconds that delivers ``seconds`` of full light; 0 for none."""
    if seconds <= 0:
        return 0.0
    cold = _cold(seconds, response)
    if response.less == 0:
        return cold
    return max(cold - shortening(response, rested), min(cold, seconds))


def order(seconds: float, response: LampResponse) -> Order:
    """``seconds`` of full light as the keeper is given them: whatever the rest, no less lamp-on time than ``seconds``.

    ``less_us`` is below ``on_us`` always, as a keeper wants it.
    """
    cold = on_time(seconds, response)
    if response.less == 0:
        return Order(round(cold * 1e6), 0, 0)
    less = min(response.less, (cold - seconds) / shape(SOONEST_S / response.recovery))
    on_us = round(cold * 1e6)
    return Order(on_us, min(max(0, int(less * 1e6)), on_us - 1), round(response.recovery * 1e6))


def _cold(seconds: float, response: LampResponse) -> float:
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
