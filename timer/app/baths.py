"""Process clocks: several at once, each through its baths, called by ear and repeated until answered. Pure; seconds.

A bath's clock runs from its pour. At its end the clock waits for the pour of the next (hands-free: it goes on by
itself), and says again every few seconds that it waits.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from timer.craft.processing import Bath, Call, Drain, Vessel, calls
from timer.craft.stops import minutes

REMIND_S = 5.0


@dataclass(frozen=True)
class Clock:
    """``bath`` is the index of the one at hand; ``poured`` when its clock began (None: waiting for the pour).

    ``called`` counts the calls already said; ``since`` is when it began to wait, ``reminded`` when it last said so.
    """

    title: str
    vessel: Vessel
    drain: Drain
    baths: tuple[Bath, ...]
    bath: int = 0
    poured: float | None = None
    called: int = 0
    since: float = 0.0
    reminded: float = 0.0
    hands_free: bool = False

    @property
    def over(self) -> bool:
        """Whether the last bath is over."""
        return self.bath >= len(self.baths)

    @property
    def at(self) -> Bath | None:
        """The bath that runs or waits for its pour; None once all are over."""
        return None if self.over else self.baths[self.bath]

    @property
    def calls(self) -> tuple[Call, ...]:
        """The calls of that bath in order, in seconds from its pour; none once all are over."""
        return calls(self.baths[self.bath], self.drain, self.vessel) if not self.over else ()

    @property
    def light_allowed(self) -> bool:
        """Whether a bath that white light may follow is over. The box must be shut all the same."""
        return any(bath.light for bath in self.baths[: self.bath])


def start(title: str, vessel: Vessel, drain: Drain, baths: tuple[Bath, ...], now: float, *, hands_free: bool) -> Clock:
    """A clock that waits, from ``now`` (s) on, for the pour of its first bath."""
    return Clock(title, vessel, drain, baths, since=now, reminded=now, hands_free=hands_free)


def answer(clock: Clock, now: float) -> Clock:
    """The printer's press: the next bath is poured now. Nothing while a bath is running."""
    if clock.over or clock.poured is not None:
        return clock
    return replace(clock, poured=now, called=0)


def tick(clock: Clock, now: float) -> tuple[Clock, list[Call]]:
    """What has come due by ``now``, in order."""
    said: list[Call] = []
    while True:
        clock, more = _step(clock, now)
        said += more
        if not more:
            return clock, said


def _step(clock: Clock, now: float) -> tuple[Clock, list[Call]]:
    if clock.over:
        return clock, []
    if clock.poured is None:
        if now - clock.reminded < REMIND_S:
            return clock, []
        name = clock.baths[clock.bath].name
        return replace(clock, reminded=now), [Call(0.0, "remind", f"{clock.title}: waiting for {name}")]
    row = clock.calls
    call = row[clock.called]
    if now - clock.poured < call.at:
        return clock, []
    if clock.called + 1 < len(row):
        return replace(clock, called=clock.called + 1), [call]
    end = clock.poured + call.at
    done = replace(clock, bath=clock.bath + 1, poured=None, called=0, since=end, reminded=end)
    if done.hands_free and not done.over:
        done = replace(done, poured=end)
    return done, [call]


def left(clock: Clock, now: float) -> float:
    """Seconds to the end of the bath at hand; of its whole time while it waits."""
    if clock.over:
        return 0.0
    end = clock.calls[-1].at
    return end if clock.poured is None else max(0.0, clock.poured + end - now)


HANDS = ("drain", "over", "end")
"""Calls that the hands answer; the others are for the ear."""


def next_call(clock: Clock, now: float) -> tuple[float, str] | None:
    """Seconds until it calls the hands next, and for what; none once it is over. One that waits for its pour calls now."""
    if not clock.at:
        return None
    if clock.poured is None:
        return 0.0, "pour"
    ahead = [call for call in clock.calls[clock.called :] if call.kind in HANDS]
    if not ahead:
        return left(clock, now), "over"
    what = ahead[0].say.split(",")[0] if ahead[0].kind == "drain" else "over"
    return max(0.0, clock.poured + ahead[0].at - now), what


def to_act(clock: Clock, now: float) -> float:
    """Seconds until the hands are called next; while it waits for its pour, the whole time of that bath."""
    call = next_call(clock, now)
    return left(clock, now) if call is None or clock.poured is None else call[0]


def act(clock: Clock, now: float) -> str:
    """What ``to_act`` counts to, in words: ``developer: lift next; it ends in 1:27``; nothing once it is over."""
    bath, call = clock.at, next_call(clock, now)
    if not bath or not call or clock.poured is None:
        return standing(clock, now)
    seconds, end = call[0], left(clock, now)
    if end - seconds < 1:
        return f"{bath.name}: {call[1]} next"
    return f"{bath.name}: {call[1]} next; it ends in {minutes(math.ceil(end))}"


def first_to_call(all_of_them: Sequence[Clock], now: float) -> int | None:
    """Which of them calls the hands next; none where all are over. Of two that wait, the one that has waited longest."""
    calls = [(call[0], clock.since, n) for n, clock in enumerate(all_of_them) if (call := next_call(clock, now))]
    return min(calls)[2] if calls else None


def share(clock: Clock, now: float) -> float:
    """How much of the bath at hand is past: 0 while it waits, 1 when all are over."""
    if clock.over:
        return 1.0
    return 1.0 - left(clock, now) / (clock.calls[-1].at or 1.0)


def standing(clock: Clock, now: float) -> str:
    """What it does, and when it calls the hands next: ``developer, drain in 0:18``; nothing once it is over."""
    bath, call = clock.at, next_call(clock, now)
    if not bath or not call:
        return ""
    if clock.poured is None:
        return f"{bath.name} WAITS for the pour"
    return f"{bath.name}, {call[1]} in {minutes(math.ceil(call[0]))}"
