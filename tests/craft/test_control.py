"""A control patch: limits, signs and trends by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft.control import aim_from, state, trends, verdict

AIM = (0.76, 0.74, 0.72)


@pytest.mark.parametrize(
    ("off", "how"),
    [
        (0, "in limits"),
        (0.05, "in limits"),
        (0.054, "in limits"),
        (0.06, "watch"),
        (0.08, "watch"),
        (0.084, "watch"),
        (0.09, "act"),
        (2, "act"),
    ],
)
def test_limits_either_side(off: float, how: str) -> None:
    assert state(off) == how and state(-off) == how


def test_a_session_says_which_colour_and_which_way() -> None:
    found = verdict((0.83, 0.65, 0.73), AIM)
    assert found.state == "act" and found.out == ("red 0.07 over", "green 0.09 under")
    assert found.off == pytest.approx((0.07, -0.09, 0.01))
    assert verdict((0.83, 0.74, 0.72), AIM).state == "watch"
    assert verdict((0.76, 0.74, 0.66), AIM).out == ("blue 0.06 under",)
    quiet = verdict((0.80, 0.70, 0.72), AIM)
    assert quiet.state == "in limits" and quiet.out == ()


def test_the_aim_is_the_mean_of_the_first_three() -> None:
    sessions = [(0.7, 0.6, 0.5), (0.8, 0.6, 0.5), (0.9, 0.9, 0.5), (3.0, 3.0, 3.0)]
    assert aim_from(sessions) == pytest.approx((0.8, 0.7, 0.5))
    assert aim_from(sessions[:1]) == pytest.approx((0.7, 0.6, 0.5))
    with pytest.raises(ValueError, match="no session"):
        aim_from([])


def test_five_one_after_another_are_a_trend() -> None:
    rising = [(0.70 + 0.01 * n, 0.74, 0.72 - 0.01 * n) for n in range(5)]
    assert trends(rising) == ["red rising", "blue falling"]
    assert trends(rising[:4]) == []
    assert trends([(0.9, 0.74, 0.1), *rising]) == ["red rising", "blue falling"]  # only the last five count
    assert trends([*rising, (0.74, 0.75, 0.6)]) == ["blue falling"]  # red stood still
    assert trends([(0.7, 0.70 + 0.01 * n, 0.7) for n in range(5)]) == ["green rising"]


@given(st.lists(st.tuples(*[st.floats(0, 3)] * 3), min_size=1, max_size=12))
def test_turned_round_every_rise_is_a_fall(sessions: list[tuple[float, float, float]]) -> None:
    turned = trends(sessions[::-1][-5:] if len(sessions) <= 5 else sessions[-5:][::-1])
    swapped = [each.replace("rising", "x").replace("falling", "rising").replace("x", "falling") for each in trends(sessions)]
    if len(sessions) >= 5:
        assert turned == swapped


@given(st.tuples(*[st.floats(0, 3)] * 3), st.tuples(*[st.floats(0, 3)] * 3))
def test_what_is_in_limits_is_not_named(density: tuple[float, float, float], aim: tuple[float, float, float]) -> None:
    found = verdict(density, aim)
    assert (found.state == "in limits") == (not found.out)
    assert len(found.out) == sum(state(off) != "in limits" for off in found.off)
