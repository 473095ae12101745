"""The footswitch: which edges are presses. Pure; times in real microseconds.

A press needs ``CLOSED_US`` of unbroken closure, so that a glitch on the cable is none. It counts only if the contact had
been open for ``AGAIN_US``, from the release of the last closure: a slow foot that bounces as it leaves presses nothing.
It does not count within ``BLANK_US`` after an edge of the lamp's own line, which a cable beside it may pick up.
A closure of the hold time is a hold, whether it counted as a press or not: dark must never be harder than light.
"""

from dataclasses import dataclass, replace

CLOSED_US = 1_000
AGAIN_US = 300_000
BLANK_US = 100_000
BOUNCE_US = 30_000
_LONG_AGO = -(2**62)


@dataclass(frozen=True)
class Footswitch:
    """``since_us`` is the last edge; ``released_us`` when a closure that lasted was last let go.

    ``candidate``: this closure becomes a press if it lasts. ``held_from_us``: when this closure began, bounces over.
    """

    down: bool = False
    since_us: int = _LONG_AGO
    released_us: int = _LONG_AGO
    blank_until_us: int = _LONG_AGO
    candidate: bool = False
    held_from_us: int | None = None


def start(down: bool, now_us: int) -> Footswitch:
    """As found. One that is down is no press and no hold until it has been let go."""
    return Footswitch(down, since_us=now_us)


def edge(switch: Footswitch, down: bool, now_us: int) -> Footswitch:
    """The footswitch after an edge. Whether it is a press shows ``CLOSED_US`` later, by ``press_due``."""
    if down == switch.down:
        return switch
    moved = replace(switch, down=down, since_us=now_us, candidate=False)
    lasted = now_us - switch.since_us
    if not down:
        # A closure too short to be a press is no release either: the bounces of one press must not put off that press.
        return replace(moved, released_us=now_us) if lasted >= CLOSED_US else moved
    if lasted >= BOUNCE_US:
        moved = replace(moved, held_from_us=now_us)
    rested = now_us - switch.released_us >= AGAIN_US
    return replace(moved, candidate=rested and now_us >= switch.blank_until_us)


def press_due(switch: Footswitch) -> int | None:
    """When the closure in progress becomes a press; None if it will not."""
    return switch.since_us + CLOSED_US if switch.down and switch.candidate else None


def pressed(switch: Footswitch) -> Footswitch:
    """The footswitch after its press was acted on: one closure is one press."""
    return replace(switch, candidate=False)


def hold_due(switch: Footswitch, hold_us: int) -> int | None:
    """When the closure in progress becomes a hold; None if there is none."""
    return switch.held_from_us + hold_us if switch.down and switch.held_from_us is not None else None


def held(switch: Footswitch) -> Footswitch:
    """The footswitch after its hold was acted on, or by a press that must not become one: not again until the next."""
    return replace(switch, held_from_us=None)


def blank(switch: Footswitch, now_us: int) -> Footswitch:
    """An edge of our own line at ``now_us``: what the cable says now is not the foot's."""
    return replace(switch, blank_until_us=now_us + BLANK_US, candidate=False)
