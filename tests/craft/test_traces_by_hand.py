"""Short traces, each row of them written down: what is read of them, worked out by hand."""

from itertools import pairwise

import numpy as np
import pytest

from timer.craft import traces
from timer.craft.lamp_response import LampResponse
from timer.craft.traces import Trace

STEP = 0.5
LIGHT = {3.0: 40.0, **{3.5 + n * STEP: 100.0 for n in range(8)}, 7.5: 20.0}
"""Switched on just before 3 s, off just after 7 s."""


def dark(t: float) -> float:
    return 2 + 0.1 * t


def rows(end: float = 12.0, /, begin: float = 0.0, **more: float) -> tuple[list[float], list[float]]:
    """Half-second rows of that light over a dark level that rises by 0.1 a second; ``more``: ``t8_5`` is added at 8.5 s."""
    times = [begin + n * STEP for n in range(round((end - begin) / STEP) + 1)]
    extra = {float(name[1:].replace("_", ".")): value for name, value in more.items()}
    return times, [dark(t) + LIGHT.get(t, 0.0) + extra.get(t, 0.0) for t in times]


# The dark before: rows of the first half of the time till it is lit, 0 to 1.5 s, mean 2.075; after: from 10.5 s on.
# Its top is the median at 6.5 s, 102.65, so half of it is 50.2875.
BEGIN = 3.0 + STEP * (50.2875 - 40) / 60
END = 7.0 + STEP * (50.2875 - 100) / -80


@pytest.mark.parametrize("more", [{}, {"t2": 300.0}, {"t10": 2.0}])
def test_a_straight_line_of_dark_is_taken_off(more: dict[str, float]) -> None:
    """A spike of one row is no light, and three seconds after the light is not yet the dark after."""
    times, values = rows(12.0, **more)
    found = traces.read(times, values)
    assert found.times == tuple(times)
    assert found.light == pytest.approx([v - dark(t) for t, v in zip(times, values, strict=True)], abs=1e-9)
    assert (found.begin, found.end) == (pytest.approx(BEGIN, abs=1e-9), pytest.approx(END, abs=1e-9))


@pytest.mark.parametrize(("end", "slope"), [(11.5, 0.1), (11.0, 0.0)])
def test_three_rows_make_a_dark_level(end: float, slope: float) -> None:
    times, values = rows(end)
    found = traces.read(times, values)
    level = [2.075 + slope * (t - 0.75) for t in times]
    assert found.light == pytest.approx([v - d for v, d in zip(values, level, strict=True)], abs=1e-9)


def test_no_dark_before_but_enough_after() -> None:
    """It begins lit: the dark after it is all there is, and where it was switched on is not known."""
    times, values = rows(11.5, begin=4.0)
    found = traces.read(times, values)
    assert found.light == pytest.approx([v - dark(11.0) for v in values], abs=1e-9)
    assert found.begin == 4.0
    flat = traces.read([n * STEP for n in range(16)], [100.0] * 4 + [0.0] * 12)
    assert (flat.begin, flat.end) == (0.25, 1.75)
    with pytest.raises(ValueError, match=r"it has no dark: begin recording half a second before"):
        traces.read(*rows(11.0, begin=4.0))


def short(*times: float) -> tuple[list[float], list[float]]:
    """Lit in the fourth, fifth and sixth row."""
    return list(times), [100.0 if 3 <= n <= 5 else 0.0 for n in range(len(times))]


def test_the_shortest_trace_there_is() -> None:
    found = traces.read(*short(0, 0.05, 0.1, 0.3, 0.4, 0.5, 1.5, 2.5))
    assert found.light == (0, 0, 0, 100, 100, 100, 0, 0)
    assert (found.begin, found.end) == (pytest.approx(0.2), pytest.approx(1.0))
    for times, values in (short(0, 0.05, 0.1, 0.3, 0.4, 0.5, 1.5), (short(*range(9))[0], short(*range(8))[1])):
        with pytest.raises(ValueError, match="at least eight rows"):
            traces.read(times, values)
    with pytest.raises(ValueError, match="at least eight rows"):
        traces.read(list(range(8)), [0.0] * 9)


def test_one_row_after_the_light_and_two_before_it() -> None:
    times = [0, 0.05, 0.1, 0.15, 0.4, 0.5, 0.6, 1.6]
    assert traces.read(times, [0.0] * 4 + [100.0] * 3 + [0.0]).end == pytest.approx(1.1)
    with pytest.raises(ValueError, match="it has no dark"):  # its first half has two rows
        traces.read([0, 0.1, 0.25, 0.4, 0.5, 0.6, 1.0, 1.6], [0.0] * 3 + [100.0] * 3 + [0.0] * 2)


def test_a_tenth_of_a_second_of_dark_is_the_least() -> None:
    assert traces.read(*short(0, 0.02, 0.04, 0.1, 0.2, 0.3, 1.5, 2.5)).begin == pytest.approx(0.07)
    with pytest.raises(ValueError, match="it has no dark"):
        traces.read(*short(0, 0.01, 0.02, 0.09, 0.2, 0.3, 1.5, 2.5))


def test_it_goes_on_for_a_second_after_the_light() -> None:
    assert traces.read(*short(0, 0.05, 0.1, 0.3, 0.4, 0.5, 0.9, 1.41)).end == pytest.approx(0.7)
    with pytest.raises(ValueError, match=r"it ends with the light: go on recording for 1 s after it, or longer"):
        traces.read(*short(0, 0.05, 0.1, 0.3, 0.4, 0.5, 0.9, 1.39))


def test_times_rise() -> None:
    times, values = rows()
    for bad in ([*times[:4], times[3], *times[5:]], [*times[:4], 0.1, *times[5:]]):
        with pytest.raises(ValueError, match="must rise from row to row"):
            traces.read(bad, values)


def test_other_light_in_the_room_is_told_with_its_numbers() -> None:
    """Of three rows or more after the glow; in two it may be anything."""
    lighter = {"t8_5": 6.0, "t9": 6.0, "t9_5": 6.0}
    with pytest.raises(ValueError, match="other light") as told:
        traces.read(*rows(9.5, **lighter))
    # 2 + 0.9 + 6 is 8.9 at 9 s; the top is 102.65, and 100.575 over the dark
    assert str(told.value) == ("its dark level moved from 2.075 to 8.9 while the light is 100.6: other light in the room?")
    with pytest.raises(ValueError, match="other light"):  # 5.125 more, and a twentieth of the light is 5.0325
        traces.read(*rows(9.5, t8_5=4.3, t9=4.3, t9_5=4.3))
    assert traces.read(*rows(9.0, t8_5=6.0, t9=6.0))
    assert traces.read(*rows(9.5, t8=40.0))  # a second after the light it may still glow
    assert traces.read(*rows(9.5, t8_5=3.0, t9=3.0, t9_5=3.0))
    with pytest.raises(ValueError, match="it has no light: every reading is the same"):
        traces.read(list(range(9)), [4.0] * 9)


def test_areas_are_trapezoids() -> None:
    found = traces.read(*rows())
    assert traces.area(found) == pytest.approx(10 + 35 + 350 + 30 + 5)
    assert traces.area(found, 3.25, 7.25) == pytest.approx(0.25 * 85 + 350 + 0.25 * 80)
    assert traces.area(found, 5, 5) == traces.area(found, 6, 5) == 0
    assert traces.dose_of(found, 50.0) == pytest.approx(430 / 50)
    times, light = np.asarray(found.times), np.asarray(found.light)
    assert traces.area(found) == pytest.approx(np.trapezoid(light, times))


def lit(*light: float, begin: float, end: float) -> Trace:
    return Trace(tuple(n * STEP for n in range(len(light))), light, begin, end)


def test_steady_light_is_the_second_half_without_its_end() -> None:
    """From 2 s to 3.75 s of a light from 0 to 4 s, as two halves: 2 to 2.875 and 2.875 to 3.75."""
    rising = lit(0, 90, 95, 99, 100, 100, 101, 102, 102, 0, begin=0.0, end=4.0)
    first = 0.5 * 100 + 0.375 * (100 + 100.75) / 2
    second = 0.125 * (100.75 + 101) / 2 + 0.5 * 101.5 + 0.25 * 102
    assert traces.steady_light(rising) == pytest.approx((first + second) / 0.875 / 2)


def test_steady_is_within_three_percent_between_the_halves() -> None:
    def stepped(up: float) -> Trace:
        """A light of 100 that is ``up`` from 2.875 s on, where the second half of its second half begins."""
        times = (0.0, 1.0, 2.875, 2.8750001, 4.0)
        return Trace(times, (100, 100, 100, up, up), 0.0, 4.0)

    for up in (102.9, 97.1):
        assert traces.steady_light(stepped(up)) == pytest.approx((100 + up) / 2, abs=0.001)
    with pytest.raises(ValueError, match=r"its light still changes by \+3\.1% in the second half"):
        traces.steady_light(stepped(103.1))
    with pytest.raises(ValueError, match=r"its light still changes by -3\.1% in the second half"):
        traces.steady_light(stepped(96.9))


def test_two_seconds_of_light_are_the_least() -> None:
    even = lit(*[100] * 9, begin=1.0, end=3.0)
    assert traces.steady_light(even) == pytest.approx(100)
    with pytest.raises(ValueError, match=r"its light is 1\.99 s long, too short to become steady: give the lamp 4 s"):
        traces.steady_light(Trace(even.times, even.light, 1.0, 2.99))


def test_where_lights_end() -> None:
    """80 of 100 is not yet full, 50 not yet half: from 50 to 49 it passes at the first, from 90 to 45 after 8/9."""
    found = lit(0, 80, 40, 81, 60, 50, 49, 0, 90, 45, 0, begin=0, end=0)
    assert traces.lights_in(found, 100) == pytest.approx([2.5, (8 + 8 / 9) * STEP])
    assert traces.lights_in(lit(0, 0, 100, 100, begin=0, end=0), 100) == []


LIGHTS = lit(0, 0, *[100] * 4, 0, 0, *[100] * 4, 0, 0, begin=0, end=0)
"""They end at 2.75 and 5.75 s; between them are the glow of the one, 6.25, and the other without its last, 193.75."""


def test_a_warm_start_by_hand() -> None:
    assert traces.warm_starts(LIGHTS, 100, 2.0, LampResponse(0.16)) == [(pytest.approx(1.0), pytest.approx(2.0 - 1.84))]
    assert traces.warm_starts(LIGHTS, 100, 2.94, LampResponse(0.16))[0][0] == pytest.approx(0.06)
    with pytest.raises(ValueError, match=r"its lights are 3\.00 s from end to end: they were not on for 2\.96 s each"):
        traces.warm_starts(LIGHTS, 100, 2.96, LampResponse(0.16))
    with pytest.raises(ValueError, match="there is only one light in it"):
        traces.warm_starts(lit(0, 100, 100, 0, 0, begin=0, end=0), 100, 1.0, LampResponse(0.1))
    three = lit(*[0, 100, 100, 100, 0, 0] * 3, begin=0, end=0)
    assert [rest for rest, _ in traces.warm_starts(three, 100, 1.0, LampResponse(0.1))] == pytest.approx([2.0, 2.0])


def test_what_lies_between_two_readings() -> None:
    """At 0.5 s from row to row, 0 to 80 of 100 come between two rows and 100 to 0: 0.2 s and 0.25 s may be missed."""
    found = lit(0, 0, 0, 0, 80, 100, 100, 100, 0, 0, begin=1.75, end=3.75)
    assert traces.step_of(found) == STEP
    assert traces.doubt_of(found, 100) == pytest.approx(0.2 + 0.25)
    # dark rows of 1 and -1 before it, in the first half till it begins: a deviation of 1, 2 s of light in rows of 0.5 s
    noisy = lit(1, -1, 0, 0, 80, 100, 100, 100, 0, 0, begin=1.75, end=3.75)
    assert traces.doubt_of(noisy, 100) == pytest.approx(0.45 + 2 * 0.01 * 1.0)


@pytest.mark.parametrize(("on", "fits"), [(4, True), (4.99, True), (5.01, False), (3.81, True), (3.79, False), (9, False)])
def test_how_long_a_light_can_have_been_on(on: float, fits: bool) -> None:
    found = lit(begin=1.0, end=5.0)
    if fits:
        traces.check_length(found, on)
    else:
        with pytest.raises(ValueError, match="does not fit") as told:
            traces.check_length(found, on, "the second light")
        assert str(told.value) == f"the second light is 4.00 s long, which does not fit {on:g} s of lamp-on time"


def test_rows_of_the_trace_are_even() -> None:
    assert {round(b - a, 9) for a, b in pairwise(rows()[0])} == {STEP}
