from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from timer.app import baths as clocks
from timer.craft.processing import Bath

BATHS = (Bath("developer", 60), Bath("stop", 30), Bath("bleach-fix", 60, light=True), Bath("wash", 60))


def made(hands_free: bool = False) -> clocks.Clock:
    return clocks.start("RA-4", "drum", "inside", BATHS, 0.0, hands_free=hands_free)


def said(
    clock: clocks.Clock, until: float, step: float = 0.5, begin: float = 0.0
) -> tuple[clocks.Clock, list[tuple[float, str]]]:
    out, now = [], begin
    while now <= until:
        clock, more = clocks.tick(clock, now)
        out += [(now, call.kind) for call in more]
        now += step
    return clock, out


def test_it_nags_until_it_is_answered() -> None:
    clock, out = said(made(), 12)
    assert out == [(5.0, "remind"), (10.0, "remind")]
    clock = clocks.answer(clock, 13)
    clock, out = said(clock, 72.5, begin=13)
    assert out == [(13.0, "pour"), (43.0, "agitate"), (53.0, "soon"), (63.0, "drain")]
    clock, out = said(clock, 79, begin=73)
    assert out == [(73.0, "over"), (78.0, "remind")]
    assert clock.at and clock.at.name == "stop"


def test_an_answer_in_the_middle_of_a_bath_does_nothing() -> None:
    clock = clocks.answer(made(), 0)
    assert clocks.answer(clock, 20) == clock
    assert clocks.left(clock, 20) == 40


def test_hands_free_goes_through_by_itself() -> None:
    clock, out = said(clocks.answer(made(hands_free=True), 0), 220)
    assert clock.over
    assert [kind for _, kind in out if kind in ("over", "remind")] == ["over"] * 4
    assert [at for at, kind in out if kind == "over"] == [60, 90, 150, 210]


def test_light_is_allowed_only_after_its_bath() -> None:
    clock = clocks.answer(made(hands_free=True), 0)
    allowed = []
    for now in range(0, 220, 5):
        clock, _ = clocks.tick(clock, now)
        allowed.append((now, clock.light_allowed))
    assert not any(on for now, on in allowed if now < 150)
    assert all(on for now, on in allowed if now >= 150)


@given(st.lists(st.floats(0.1, 40), min_size=1, max_size=60), st.booleans())
def test_nothing_is_skipped_however_seldom_it_looks(steps: list[float], hands_free: bool) -> None:
    clock, now, kinds = clocks.answer(made(hands_free), 0), 0.0, []
    for step in steps:
        now += step
        clock, calls = clocks.tick(clock, now)
        kinds += [c.kind for c in calls if c.kind not in ("remind", "agitate")]
        clock = clocks.answer(clock, now)
    order = ["pour", "soon", "drain", "over"] * 4
    assert kinds == order[: len(kinds)]


def test_several_at_once_do_not_mind_each_other() -> None:
    one, two = clocks.answer(made(), 0), clocks.answer(made(), 30)
    one, first = said(one, 60)
    two, second = said(two, 60)
    assert first[-1] == (60, "over")
    assert second[-1] == (60, "agitate")


def test_in_a_few_words_with_the_next_call_of_the_hands() -> None:
    clock = made()
    assert clocks.standing(clock, 0) == "developer WAITS for the pour"
    clock, _ = said(clocks.answer(clock, 0), 1)
    assert clocks.standing(clock, 1.5) == "developer, drain in 0:49"  # 50 s, rounded up: never past its time
    clock, _ = said(clock, 51)
    assert clocks.standing(clock, 51) == "developer, over in 0:09"
    assert clocks.standing(replace(clock, bath=len(BATHS)), 60) == ""


def test_in_a_tray_it_is_lifted() -> None:
    clock = clocks.answer(clocks.start("tray", "tray", "inside", BATHS, 0.0, hands_free=False), 0)
    assert clocks.standing(clock, 0).startswith("developer, lift in 0:")


def test_the_clock_that_calls_the_hands_next_is_the_first() -> None:
    clock = clocks.start("RA-4", "drum", "inside", BATHS, 0, hands_free=False)
    running = clocks.answer(clock, 0)
    assert clocks.next_call(clock, 3) == (0.0, "pour")
    assert clocks.first_to_call([running, clock], 3) == 1  # one that waits calls already
    later = clocks.answer(clock, 5)
    assert clocks.first_to_call([later, running], 6) == 1
    assert clocks.first_to_call([replace(clock, bath=len(BATHS))], 6) is None
    assert clocks.first_to_call([], 0) is None
    assert clocks.share(clock, 3) == 0.0
    assert clocks.share(running, BATHS[0].seconds / 2) == 0.5
