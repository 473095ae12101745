"""A light sensor's trace of a lamp: its dark level, its steady light, and the full-light seconds under it.

A trace is times in seconds and readings in any unit, begun in the dark and gone on with until the glow is over.
"""

import bisect
import itertools
import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from timer.craft.lamp_response import LampResponse, on_time

GLOW_S, DARK_S = 1.0, 3.0
"""After so long a filament has given all the light that counts; and after so long a sensor for red sees none at all."""
STEADY = 0.03
"""How much of its light a lamp may still gain or lose in the second half of a long trace."""


@dataclass(frozen=True)
class Trace:
    """``light`` is the reading less the dark level at its time; ``begin`` and ``end`` are where it passes half its top."""

    times: tuple[float, ...]
    light: tuple[float, ...]
    begin: float
    end: float


def read(times: Sequence[float], values: Sequence[float]) -> Trace:
    """The dark level taken off: a straight line through the dark before and after the light. ValueError, in words."""
    if len(times) != len(values) or len(times) < 8:
        raise ValueError("a trace needs at least eight rows of seconds and light")
    if any(b <= a for a, b in itertools.pairwise(times)):
        raise ValueError("the times of a trace must rise from row to row")
    calm = _without_spikes(values)
    low, high = min(calm), max(calm)
    if not high > low:
        raise ValueError("it has no light: every reading is the same")
    inside = [n for n, value in enumerate(calm) if value > (low + high) / 2]
    first, last = inside[0], inside[-1]
    before = [n for n in range(first) if times[n] < times[0] + (times[first] - times[0]) / 2]
    dim = [n for n in range(last, len(times)) if times[n] > times[last] + GLOW_S]
    after = [n for n in dim if times[n] > times[last] + DARK_S]
    if times[-1] - times[last] < 0.9 * GLOW_S:
        raise ValueError(f"it ends with the light: go on recording for {GLOW_S:g} s after it, or longer")
    if len(before) < 3 or times[first] - times[0] < 0.1:
        if len(after) < 3:
            raise ValueError("it has no dark: begin recording half a second before the lamp is switched on")
        before = after
    (t0, d0), (t1, d1) = (_middle(times, values, rows) for rows in (before, after if len(after) >= 3 else before))
    later = _middle(times, values, dim)[1] if len(dim) >= 3 else d1
    if abs(later - d0) > 0.05 * (high - low):
        raise ValueError(
            f"its dark level moved from {d0:.4g} to {later:.4g} while the light is {high - d0:.4g}: other light in the room?"
        )
    slope = (d1 - d0) / (t1 - t0) if t1 > t0 else 0.0
    light = tuple(value - d0 - slope * (t - t0) for t, value in zip(times, values, strict=True))
    half = (max(calm) - d0) / 2
    return Trace(tuple(times), light, _crossing(times, light, first, half), _crossing(times, light, last + 1, half))


def _without_spikes(values: Sequence[float]) -> list[float]:
    """The median of each reading and its two neighbours."""
    inner = (sorted(three)[1] for three in zip(values, values[1:], values[2:], strict=False))
    return [values[0], *inner, values[-1]]


def _middle(times: Sequence[float], values: Sequence[float], rows: Sequence[int]) -> tuple[float, float]:
    return statistics.fmean(times[n] for n in rows), statistics.fmean(values[n] for n in rows)


def _crossing(times: Sequence[float], light: Sequence[float], n: int, level: float) -> float:
    """When the light passes ``level`` between rows n - 1 and n."""
    n = min(max(n, 1), len(times) - 1)
    a, b = light[n - 1], light[n]
    share = (level - a) / (b - a) if b != a else 0.5
    return times[n - 1] + min(1.0, max(0.0, share)) * (times[n] - times[n - 1])


def steady_light(trace: Trace) -> float:
    """The reading in steady light: the mean over the second half of a long light. ValueError when it is not steady."""
    length = trace.end - trace.begin
    if length < 2:
        raise ValueError(f"its light is {length:.2f} s long, too short to become steady: give the lamp 4 s or more")
    middle, end = trace.begin + length / 2, trace.end - 0.25
    halves = [area(trace, a, b) / (b - a) for a, b in ((middle, (middle + end) / 2), ((middle + end) / 2, end))]
    change = halves[1] / halves[0] - 1
    if abs(change) > STEADY:
        raise ValueError(
            f"its light still changes by {change:+.1%} in the second half, and no time offset repairs that: give the lamp "
            "longer, or let it and its supply settle first"
        )
    return sum(halves) / 2


def area(trace: Trace, begin: float = -math.inf, end: float = math.inf) -> float:
    """The light under the trace from ``begin`` to ``end``, by trapezoids."""
    total = 0.0
    for (t0, a), (t1, b) in itertools.pairwise(zip(trace.times, trace.light, strict=True)):
        low, high = max(t0, begin), min(t1, end)
        if high > low:
            slope = (b - a) / (t1 - t0)
            total += (high - low) * (a + slope * ((low + high) / 2 - t0))
    return total


def lights_in(trace: Trace, full: float) -> list[float]:
    """When each light in a trace of several went off: where it falls through half of ``full``, in seconds.

    That is a little after the lamp's own edge, and by the same little each time.
    """
    out = []
    high = False
    for n, value in enumerate(trace.light):
        if value > 0.8 * full:  # below it, a lamp's ripple on the mains could be taken for an edge
            high = True
        elif high and value < 0.5 * full:
            out.append(_crossing(trace.times, trace.light, n, 0.5 * full))
            high = False
    return out


def warm_starts(trace: Trace, full: float, on: float, cold: LampResponse) -> list[tuple[float, float]]:
    """(rest, seconds by which it began sooner than ``cold``) for each light after the first, all of ``on`` seconds of
    lamp-on time.

    Between two moments of switching off lie the glow of the one light and all of the next, as much as a cold one gives that
    is on for so much longer. ValueError for fewer than two lights, or lights that cannot have been ``on`` long.
    """
    ends = lights_in(trace, full)
    if len(ends) < 2:
        raise ValueError(
            "there is only one light in it that reaches full brightness; a warm start needs two, close together"
        )
    found = []
    for before, end in itertools.pairwise(ends):
        rest = end - before - on
        if rest < 0.05:
            raise ValueError(f"its lights are {end - before:.2f} s from end to end: they were not on for {on:g} s each")
        found.append((rest, on_time(area(trace, before, end) / full, cold) - on))
    return found


def dose_of(trace: Trace, full: float) -> float:
    """Full-light seconds of all of it."""
    return area(trace) / full


def doubt_of(trace: Trace, full: float) -> float:
    """Full-light seconds by which ``dose_of`` may be off, by where light comes and goes and by noise.

    A jump between two readings may lie anywhere between them: half the jump, times their distance. Noise is that of the
    dark before it: of n readings in the light, twice their distance times its deviation times the root of n.
    """
    times, light = trace.times, trace.light
    edges = 0.0
    for edge in (trace.begin, trace.end):
        n = min(max(bisect.bisect_left(times, edge), 1), len(times) - 1)
        edges += abs(light[n] - light[n - 1]) * (times[n] - times[n - 1]) / 2
    before = light[: bisect.bisect_left(times, (times[0] + trace.begin) / 2)]
    noise = statistics.pstdev(before) if len(before) > 1 else 0.0
    return (edges + 2 * noise * math.sqrt(step_of(trace) * (trace.end - trace.begin))) / full


def step_of(trace: Trace) -> float:
    """Seconds from one reading to the next, in the mean."""
    return (trace.times[-1] - trace.times[0]) / (len(trace.times) - 1)


def check_length(trace: Trace, on: float, where: str = "its light") -> None:
    """ValueError when the light cannot have been on for ``on`` seconds."""
    length = trace.end - trace.begin
    if not on - 1.0 <= length <= on + 0.2:
        raise ValueError(f"{where} is {length:.2f} s long, which does not fit {on:g} s of lamp-on time")
