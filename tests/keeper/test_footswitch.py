"""Which edges of the contact are presses and holds. Times are typed in milliseconds."""

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from timer.keeper.local.footswitch import (
    AGAIN_US,
    BLANK_US,
    CLOSED_US,
    Footswitch,
    blank,
    edge,
    held,
    hold_due,
    press_due,
    pressed,
    start,
)

HOLD_US = 800_000
FOREVER = 2**60


def play(
    switch: Footswitch, edges: Sequence[tuple[bool, float]], until_ms: float = 10_000
) -> tuple[list[float], list[float]]:
    """The presses and holds (ms) that ``edges`` make, time passing between them."""
    presses: list[float] = []
    holds: list[float] = []
    for down, at_ms in [*edges, (False, until_ms)]:
        at = round(at_ms * 1000)
        while (due := min(press_due(switch) or FOREVER, hold_due(switch, HOLD_US) or FOREVER)) <= at:
            if due == press_due(switch):
                presses.append(due / 1000)
                switch = pressed(switch)
            else:
                holds.append(due / 1000)
                switch = held(switch)
        switch = edge(switch, down, at)
    return presses, holds


def test_a_press_is_a_millisecond_of_closure() -> None:
    assert play(start(False, 0), [(True, 500), (False, 700)]) == ([501], [])


def test_a_contact_that_bounces_as_it_closes_presses_once() -> None:
    bounces = [(n % 2 == 0, 500 + 0.4 * n) for n in range(13)]
    assert play(start(False, 0), [*bounces, (False, 800)])[0] == [500 + 0.4 * 12 + 1]


def test_a_glitch_on_the_cable_is_none() -> None:
    assert play(start(False, 0), [(True, 500), (False, 500.005)]) == ([], [])


def test_a_foot_that_bounces_as_it_leaves_presses_nothing() -> None:
    edges = [(True, 500), (False, 900), (True, 931), (False, 960), (True, 1100), (False, 1150)]
    assert play(start(False, 0), edges)[0] == [501]


def test_the_next_press_counts_from_the_release() -> None:
    slow = [(True, 500), (False, 1100), (True, 1350), (False, 1400), (True, 1750), (False, 1800)]
    assert play(start(False, 0), slow)[0] == [501, 1751]


def test_a_contact_closed_at_the_start_is_nothing_until_it_has_been_open() -> None:
    assert play(start(True, 0), [(False, 3000), (True, 3500), (False, 3600)]) == ([3501], [])


def test_an_edge_of_our_own_line_is_not_the_foots() -> None:
    switch = blank(start(False, 0), 1_000_000)
    assert play(switch, [(True, 1050), (False, 1060)]) == ([], [])
    assert play(switch, [(True, 1000 + BLANK_US / 1000), (False, 1300)])[0] == [1101]


def test_a_closure_that_was_no_press_can_still_be_a_hold() -> None:
    switch = blank(start(False, 0), 1_000_000)
    assert play(switch, [(True, 1050), (False, 3000)]) == ([], [1850])


def test_a_hold_is_due_once_and_through_chatter() -> None:
    assert play(start(False, 0), [(True, 500), (False, 700), (True, 705), (False, 2500)]) == ([501], [1300])


@given(st.lists(st.tuples(st.booleans(), st.integers(1, 500_000)), max_size=60))
def test_between_two_presses_the_contact_was_open_for_the_whole_rest(steps: list[tuple[bool, int]]) -> None:
    at, edges = 0, []
    for down, wait in steps:
        at += wait
        edges.append((down, at / 1000))
    presses, _ = play(start(False, -1), edges, at / 1000 + 5000)
    closures = _closures(edges, at / 1000 + 5000)
    for press in presses:
        began = round(press - CLOSED_US / 1000, 3)
        mine = next(c for c in closures if c[0] <= began < c[1])
        assert mine[0] == began
        before = [end for begin, end in closures if end <= mine[0] and round(end - begin, 3) >= CLOSED_US / 1000]
        assert not before or round(mine[0] - max(before), 3) >= AGAIN_US / 1000


def _closures(edges: list[tuple[bool, float]], end: float) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    since: float | None = None
    for down, at in [*edges, (False, end)]:
        if down and since is None:
            since = at
        elif not down and since is not None:
            out.append((since, at))
            since = None
    return out
