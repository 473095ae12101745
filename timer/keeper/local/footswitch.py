"""The footswitch: which edges are presses. Pure; times in real microseconds.

The leading edge acts at once; what follows within ``BOUNCE_US`` is the contact settling. A press counts only after
the pedal has been up for ``BOUNCE_US``, and not within ``AGAIN_US`` of the last one (a dancing foot). A pedal that
is down at the start is not a press until it has been let go.
"""

from dataclasses import dataclass, replace

BOUNCE_US = 30_000
AGAIN_US = 300_000


@dataclass(frozen=True)
class PedalState:
    down: bool
    since_us: int
    pressed_us: int = -AGAIN_US
    held_from_us: int | None = None


def start(down: bool, now_us: int) -> PedalState:
    """The pedal as found; up counts as long up."""
    return PedalState(down, now_us if down else now_us - BOUNCE_US)


def edge(pedal: PedalState, down: bool, now_us: int) -> tuple[PedalState, bool]:
    """The pedal after an edge, and whether it was a press."""
    if down == pedal.down:
        return pedal, False
    settled = now_us - pedal.since_us >= BOUNCE_US
    moved = replace(pedal, down=down, since_us=now_us)
    if not down:
        return moved, False
    if pedal.held_from_us is not None and not settled:
        return moved, False  # the foot is still on it: the contact chattered
    if settled and now_us - pedal.pressed_us >= AGAIN_US:
        return replace(moved, pressed_us=now_us, held_from_us=now_us), True
    return replace(moved, held_from_us=None), False


def hold_due(pedal: PedalState, hold_us: int) -> int | None:
    """When the press in progress becomes a hold; None if there is none."""
    if pedal.held_from_us is None or not pedal.down:
        return None
    return pedal.held_from_us + hold_us


def held(pedal: PedalState) -> PedalState:
    """The pedal after its hold was acted on: not again until the next press."""
    return replace(pedal, held_from_us=None)
