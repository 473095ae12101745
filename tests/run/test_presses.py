"""Keys as a terminal sends them: held, doubled, bounced, bunched by a slow line; and what of them is a press."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from timer.run.presses import (
    FIRST_REPEAT_S,
    NEXT_REPEAT_S,
    REST_S,
    SETTLED_S,
    Means,
    Presses,
    Taps,
    came,
    passed,
    spent,
    stepped,
    tapped,
)


def read(times: list[float], hold_s: float = 1e9, *, lit: bool = False) -> list[tuple[float, Means]]:
    """What the keys that come at ``times`` mean, by when they came; ``lit``: each press starts the light."""
    presses = Presses()
    found: list[tuple[float, Means]] = []
    for at, then in pairwise([*times, times[-1] + 10]):
        presses, means = came(presses, at, hold_s)
        if means is not Means.NOTHING:
            found.append((at, means))
        if presses.due is not None and presses.due < then:
            presses, means = passed(presses, presses.due)
            found.append((at, means))
            if lit:
                presses = spent(presses)
    return found


def held(begin: float, seconds: float, delay: float = 0.5, every: float = 0.03) -> list[float]:
    """A key that is held from ``begin`` on, as it is repeated."""
    repeats = int((seconds - delay) / every) + 1 if seconds >= delay else 0
    return [begin, *(begin + delay + n * every for n in range(repeats))]


def presses(found: list[tuple[float, Means]], *, sure: bool = False) -> list[float]:
    return [at for at, means in found if means is Means.PRESS or (means is Means.LIKELY and not sure)]


@pytest.mark.parametrize("delay", [0.2, 0.25, 0.31, 0.5, 0.66, 1.0])
@pytest.mark.parametrize("every", [0.02, 0.03, 0.092, 0.14])
def test_a_key_held_for_ten_seconds_is_one_press(delay: float, every: float) -> None:
    assert presses(read(held(5.0, 10, delay, every))) == [5.0]


def test_presses_with_a_rest_between_them_all_count() -> None:
    times = [1.0, 1.5, 2.0, 4.0, 4.4, 6.0]
    assert presses(read(times)) == times


def test_presses_without_a_rest_are_one() -> None:
    assert presses(read([1.0, 1.2, 1.4, 1.6, 1.8])) == [1.0]


def test_a_bounce_is_one_press() -> None:
    assert presses(read([1.0, 1.004, 3.0, 3.01]), sure=True) == [1.004, 3.01]


def test_what_a_frozen_machine_or_a_slow_line_bunches_is_no_press() -> None:
    before = held(1.0, 2.0)
    assert presses(read([*before, *(before[-1] + 5 + n * 1e-4 for n in range(100))])) == [1.0]


def test_a_hold_is_told_once_and_not_of_the_press_that_started_the_light() -> None:
    found = read(held(1.0, 3.0), hold_s=0.8)
    assert [means for _, means in found] == [Means.PRESS, Means.HOLD]
    assert found[1][0] == pytest.approx(1.8, abs=0.04)
    assert [means for _, means in read(held(1.0, 3.0), hold_s=0.8, lit=True)] == [Means.PRESS]
    again = read([*held(1.0, 3.0), *held(5.0, 2.0)], hold_s=0.8)
    assert [means for _, means in again] == [Means.PRESS, Means.HOLD] * 2


def test_nervous_tapping_is_no_hold() -> None:
    assert Means.HOLD not in [means for _, means in read([1 + 0.2 * n for n in range(20)], hold_s=0.8)]


def test_a_footswitch_of_the_keeper_needs_the_rest_and_no_more() -> None:
    now, means = stepped(Presses(), 1.0)
    assert means is Means.PRESS
    now, means = stepped(now, 1.2)
    assert means is Means.NOTHING
    now, means = stepped(now, 1.6)
    assert means is Means.PRESS
    now, means = came(now, 1.61)  # Enter, at the same moment
    assert (means, now.due) == (Means.NOTHING, None)


FINGER = st.tuples(st.floats(0.31, 3.0), st.one_of(st.just(0.05), st.floats(0.05, 6.0)))
"""A pause with the key up, and how long it is down then."""


@settings(deadline=None)
@given(
    st.lists(FINGER, min_size=1, max_size=12),
    st.floats(0.2, FIRST_REPEAT_S - 0.05),
    st.floats(0.02, NEXT_REPEAT_S - 0.02),
    st.floats(-0.005, 0.005),
)
def test_never_more_presses_than_a_finger_made(
    fingers: list[tuple[float, float]], delay: float, every: float, jitter: float
) -> None:
    times, down = [], []
    now = lone = 0.0
    for pause, long in fingers:
        now += pause
        down.append(now)
        keys = [at + (jitter if n % 2 else 0) for n, at in enumerate(held(now, long, delay, every))]
        lone += len(keys) == 2  # let go just when the first repeat had come: it cannot be told from a second press
        times += keys
        now = max(now + long, keys[-1])
    found = read(times)
    assert len(presses(found)) <= len(fingers) + lone
    # A light has a finger of its own; and one that comes after the longest wait for a repeat is always heard.
    sure = presses(found, sure=True)
    assert set(sure) <= set(down)
    clear = {at for at in down if all(t >= at or at - t >= FIRST_REPEAT_S for t in times)}
    assert clear <= set(sure)


def test_the_times_make_sense_together() -> None:
    assert SETTLED_S < NEXT_REPEAT_S < REST_S < FIRST_REPEAT_S


# ── keys that act at once ────────────────────────────────────────────────────


def acts(times: list[float]) -> list[float]:
    """Of a key that comes at ``times``, when it acts."""
    taps, found = Taps(), []
    for at in times:
        taps, means = tapped(taps, at)
        found += [at] if means is Means.LIKELY else []
    return found


def test_nine_quick_presses_are_nine() -> None:
    times = [1 + n / 3 for n in range(9)]
    assert acts(times) == times


@given(st.lists(st.floats(0.155, 2.0), min_size=1, max_size=20))
def test_a_finger_is_never_too_quick_for_a_key_that_chooses(pauses: list[float]) -> None:
    times = [sum(pauses[: n + 1]) for n in range(len(pauses))]
    assert acts(times) == times


@given(st.floats(0.2, FIRST_REPEAT_S - 0.05), st.floats(0.02, NEXT_REPEAT_S - 0.01), st.floats(0.0, 6.0))
def test_of_a_held_key_that_chooses_the_first_repeat_acts_and_no_other(delay: float, every: float, long: float) -> None:
    times = held(1.0, long, delay, every)
    assert acts(times) == times[:2]


def test_a_bounce_of_a_key_that_chooses_is_one_press() -> None:
    assert acts([1.0, 1.004, 1.2, 1.21]) == [1.0, 1.2]
