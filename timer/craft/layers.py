"""Colour paper's three layers under one lamp-on time.

A warming filament is red first, so every start loses more blue light than red. The filter pack allows for the loss of one
exposure; the same light in several bursts has other shares of red, green and blue.
"""

import math
from collections.abc import Sequence

from timer.craft.lamp_response import LampResponse, full_light, on_time
from timer.craft.lights import COLOURS

Layers = tuple[LampResponse, LampResponse, LampResponse]
LAYERS = COLOURS
"""Each by the light that it goes by."""
TYPICAL: Layers = (LampResponse(0.020, 0.070), LampResponse(0.042, 0.091), LampResponse(0.063, 0.098))
"""The bench's 24 V 250 W halogen, where a printer has not measured the layers: the order of magnitude only."""
CC_A_STOP = 100 * math.log10(2)
"""A stop is a density of 0.30, and 100 CC are a density of 1."""
LONG_S = 10.0
"""Seconds: a usual exposure, for which a pack is found."""


def shifts(
    bursts: Sequence[float], timed_by: LampResponse, layers: Sequence[LampResponse], rested: float = math.inf
) -> tuple[float, ...]:
    """Stops in each layer from one exposure to ``bursts`` of the same full-light seconds in all, each timed by one response.

    All but the first burst begin ``rested`` seconds after the one before.
    """
    rests = [math.inf] + [rested] * (len(bursts) - 1)
    on = [on_time(seconds, timed_by, rest) for seconds, rest in zip(bursts, rests, strict=True)]
    whole = on_time(sum(bursts), timed_by)
    out = []
    for layer in layers:
        had = sum(full_light(t, layer, rest) for t, rest in zip(on, rests, strict=True))
        out.append(math.log2(max(had, 1e-9) / max(full_light(whole, layer), 1e-9)))
    return tuple(out)


def shift_from_long(seconds: float, timed_by: LampResponse, layers: Sequence[LampResponse]) -> float:
    """How far apart, in CC, one exposure of ``seconds`` puts the layers, against one of 10 s."""
    both = [
        [math.log2(max(full_light(on_time(t, timed_by), layer), 1e-9) / t) for layer in layers] for t in (seconds, LONG_S)
    ]
    return shift_cc([short - long for short, long in zip(*both, strict=True)])


def shift_cc(stops: Sequence[float]) -> float:
    """How far apart the layers are, in CC."""
    return (max(stops) - min(stops)) * CC_A_STOP
