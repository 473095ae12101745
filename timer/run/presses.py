"""Presses by keyboard: which keys were pressed, and which only repeat because a key is held. Pure; seconds.

A terminal does not say when a key is let go. One that is held it sends again and again: the first time after a while
(0.2 to 1 s, as the machine is set), then seven to forty times a second. So a key counts as a press only after a rest, and
one that may be the first repeat counts only when no second one follows, and never for light. A footswitch that types a key
is read the same way; when its key has come without a gap for the hold time, the foot is held.

Where neither light nor dark hangs on a key, nor anything that is written or left, there is no time to wait: it is a ``Tap``.
"""

from dataclasses import dataclass, replace
from enum import Enum
from math import inf

REST_S = 0.3
"""Without the key for so long: it was let go."""
FIRST_REPEAT_S = 1.1
"""A held key is repeated at the latest after this. Linux's console waits a second at most (kbdrate(8)), X 0.66 (xset(1))."""
NEXT_REPEAT_S = 0.15
"""From one repeat to the next at the longest. Linux's console has 0.09 (kbdrate(8)), X 0.04 (xset(1))."""
BOUNCE_S = 0.02
"""A contact that bounces comes again so soon; a finger does not."""
SETTLED_S = 0.03
"""What was held up on its way (a frozen machine, a slow network) comes all at once: so long even a first press waits."""
TWICE = 2
"""How often one press that bounces may come."""


class Means(Enum):
    """LIKELY: a press, unless a key was let go just when its first repeat had come. Enough to turn a page, not for light."""

    NOTHING = "nothing"
    LIKELY = "likely"
    PRESS = "press"
    HOLD = "hold"


@dataclass(frozen=True)
class Presses:
    """One key, or several that mean the same. ``last``: when it last came; ``since``: down without a gap from then on.

    ``due``: when what has come counts as a press, unless more of it follows than ``bounces``; ``sure``, or as likely.
    ``unheld``: this closure may still become a hold. ``times``: how often it has come since it was last let go.
    """

    last: float = -inf
    since: float = -inf
    due: float | None = None
    bounces: int = 0
    sure: bool = False
    unheld: bool = True
    times: int = 1


Read = tuple[Presses, Means]


def came(presses: Presses, now: float, hold_s: float = inf) -> Read:
    """The key has come; after ``hold_s`` of coming without a gap it is a hold."""
    gap = now - presses.last
    if gap < REST_S:
        return _again(presses, now, gap, hold_s)
    if gap < FIRST_REPEAT_S:
        was_repeated = presses.times > TWICE  # then this is not its first repeat, whatever else it may be
        since = now if was_repeated else presses.last
        return Presses(now, since, now + NEXT_REPEAT_S, sure=was_repeated, unheld=presses.unheld), Means.NOTHING
    return Presses(now, now, now + SETTLED_S, bounces=1, sure=True), Means.NOTHING


def _again(presses: Presses, now: float, gap: float, hold_s: float) -> Read:
    """Too soon to be a press: a repeat, or a contact that bounces."""
    due = now + NEXT_REPEAT_S if presses.due is not None and presses.bounces else None
    since = presses.since if gap < NEXT_REPEAT_S else now
    bounces = max(0, presses.bounces - 1)
    after = replace(presses, last=now, since=since, due=due, bounces=bounces, times=presses.times + 1)
    if due is None and presses.unheld and now - since >= hold_s:
        return replace(after, unheld=False), Means.HOLD
    return after, Means.NOTHING


def passed(presses: Presses, now: float) -> Read:
    """Time has passed, and nothing has come meanwhile."""
    if presses.due is None or now < presses.due:
        return presses, Means.NOTHING
    after = replace(presses, since=presses.last, due=None, unheld=True)
    return after, Means.PRESS if presses.sure else Means.LIKELY


def stepped(presses: Presses, now: float) -> Read:
    """A footswitch that is read by the lamp's keeper was pressed: it has no repeat, and still needs the rest."""
    counts = now - presses.last >= REST_S
    return Presses(now, now), Means.PRESS if counts else Means.NOTHING


def spent(presses: Presses) -> Presses:
    """The press that has just counted must not become a hold by being long: it has started the light."""
    return replace(presses, unheld=False)


@dataclass(frozen=True)
class Taps:
    """A key that acts at once. ``last``: when it last came; ``repeats``: what comes on without a gap is its repeat."""

    last: float = -inf
    repeats: bool = False


def tapped(taps: Taps, now: float) -> tuple[Taps, Means]:
    """The key has come: LIKELY when it acts, HOLD when it is a repeat of a key that is held, NOTHING when it has bounced.

    The first repeat cannot be told from a second press, and acts; those behind it do not.
    """
    gap = now - taps.last
    if taps.repeats and gap < NEXT_REPEAT_S:
        return replace(taps, last=now), Means.HOLD
    if gap < BOUNCE_S:
        return replace(taps, last=now), Means.NOTHING
    return Taps(now, repeats=NEXT_REPEAT_S <= gap < FIRST_REPEAT_S), Means.LIKELY
