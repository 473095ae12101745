import itertools

from hypothesis import given
from hypothesis import strategies as st

from timer.keeper.local.footswitch import AGAIN_US, BOUNCE_US, PedalState, edge, held, hold_due, start


def play(pedal: PedalState, edges: list[tuple[bool, int]]) -> tuple[PedalState, list[int]]:
    presses = []
    for down, at in edges:
        pedal, pressed = edge(pedal, down, at)
        if pressed:
            presses.append(at)
    return pedal, presses


def test_the_leading_edge_acts_at_once_and_bounce_does_not() -> None:
    _, presses = play(start(False, 0), [(True, 100), (False, 900), (True, 1500), (False, 2100), (True, 2500)])
    assert presses == [100]


def test_bounce_on_letting_go_is_no_press() -> None:
    t = 5_000_000
    _, presses = play(start(False, 0), [(True, t), (False, t + 400_000), (True, t + 401_000), (False, t + 402_000)])
    assert presses == [t]


def test_a_pedal_held_at_the_start_is_not_a_press_until_let_go() -> None:
    pedal = start(True, 0)
    assert hold_due(pedal, 800_000) is None
    _, presses = play(pedal, [(True, 10), (False, 1_000_000), (True, 2_000_000)])
    assert presses == [2_000_000]


def test_a_dancing_foot_is_one_press() -> None:
    _, presses = play(
        start(False, 0),
        [(True, 0), (False, 80_000), (True, 160_000), (False, 240_000), (True, AGAIN_US + 40_000)],
    )
    assert presses == [0, AGAIN_US + 40_000]


def test_a_hold_is_due_once_and_through_chatter() -> None:
    pedal, _ = play(start(False, 0), [(True, 1000), (False, 1500), (True, 2000)])
    assert hold_due(pedal, 800_000) == 801_000
    assert hold_due(held(pedal), 800_000) is None


@given(st.lists(st.tuples(st.booleans(), st.integers(1, 500_000)), max_size=60))
def test_presses_are_apart_and_only_after_the_pedal_was_up(steps: list[tuple[bool, int]]) -> None:
    at, edges = 0, []
    for down, wait in steps:
        at += wait
        edges.append((down, at))
    _, presses = play(start(False, 0), edges)
    assert all(b - a >= AGAIN_US for a, b in itertools.pairwise(presses))
    for press in presses:
        assert not any(down and press - BOUNCE_US < t < press for down, t in _changes(edges))


def _changes(edges: list[tuple[bool, int]]) -> list[tuple[bool, int]]:
    out, level = [], False
    for down, at in edges:
        if down != level:
            out.append((down, at))
            level = down
    return out
