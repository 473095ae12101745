"""From what was seen to what is booked: the light of one exposure, as a value or as a range.

A fact is what somebody saw. Everything else is a range, from what is certain to what is possible; where nobody can say
how long it may have been, its upper end is open. A range is never narrowed by a guess.
All in lamp-on µs; ``cut_us`` is how much less a warm lamp was given (docs/protocol.md, "Warm lamps").
"""

from timer.keeper.host.client import Lost
from timer.keeper.local.memory import Recollection, Remembered, boot_name
from timer.keeper.wire import messages
from timer.keeper.wire.messages import EndReason
from timer.notebook.light import LATE, NOT_LIT, POWER_LOST, UNHEARD, UNSEEN, Light
from timer.notebook.rows import ExposureRow

LATE_US = 20_000
"""More light than was ordered by over this is too much light, whatever the keeper calls it: of time as it passes.

The simulated lamp's time-lapse has no paper under it, and 20 ms of its lamp may be 0.1 ms of the machine's.
"""
SILENCE_US = 900_000
"""A controller that hears nothing goes dark by itself after this (docs/protocol.md, rule 6)."""
DRIFT_US = 50_000
"""By how much the two clocks may differ over an exposure, a ceramic resonator's half a percent included."""
LAST_GUARD_US = 60_000
"""After its end a light that nobody ended is ended by the guard: 50 ms, and the 10 between two of its looks."""


def from_dark(dark: messages.Dark | messages.ExposureRecord, cold_us: int, speed_permille: int = 1000) -> Light:
    """The keeper's own word; ``cold_us`` is what was ordered of it for a cold lamp, ``speed_permille`` of a time-lapse."""
    given = dark.off_us - dark.on_us
    reason = EndReason(dark.why)
    late = reason is EndReason.LATE or given > dark.ordered_us + LATE_US * speed_permille // 1000
    return Light(given, given, LATE if late else reason.name.lower(), cold_us - dark.ordered_us, dark.counts)


def from_memory(entry: Remembered, cold_us: int) -> Light:
    """What a local keeper's memory says of a light that it did or did not live to end."""
    cut_us = cold_us - entry.ordered_us
    if entry.why is not None:
        given = entry.lamp_us(entry.off_ns - entry.on_ns)
        reason = EndReason(entry.why)
        late = reason is EndReason.LATE or given > entry.ordered_us + entry.lamp_us(LATE_US * 1000)
        return Light(given, given, LATE if late else reason.name.lower(), cut_us)
    on_ns = entry.on_ns or entry.begun_ns
    low = entry.lamp_us(entry.alive_ns - on_ns) if entry.on_ns else 0  # begun but not on: it may never have been lit
    high = entry.lamp_us(entry.proven_ns - on_ns) if entry.proven_ns else None
    return Light(low, high, UNSEEN if high is None else EndReason.KEEPER_LOST.name.lower(), cut_us)


def of_lost_local(memory: Recollection | None, name: int, row: ExposureRow) -> Light:
    """Of an exposure whose local keeper is gone, or whose app was: by the memory that both left behind."""
    low_us = max(row.seen_us, row.low_us or 0)
    if row.boot != boot_name():
        if row.why == UNSEEN:
            return Light(low_us, None, UNSEEN)  # its keeper was lost before the machine was off: nobody knows when it ended
        # The machine was off since. A light that was on then ended by itself, by its guard, or with the power.
        return Light(row.seen_us, max(row.seen_us, row.ordered_us) + LAST_GUARD_US, POWER_LOST)
    entry = memory.entries.get(name) if memory else None
    if entry:
        found = from_memory(entry, row.ordered_us)
        return found if found.low_us >= low_us else Light(low_us, found.high_us, found.why, found.cut_us)
    if memory and not row.lit and row.noted_ns is not None and memory.never_lit(name, row.noted_ns):
        return Light(0, 0, NOT_LIT)
    return Light(low_us, None, UNSEEN)


def of_unheard(lost: Lost, lit_us: int, row: ExposureRow, less_us: int = 0) -> Light:
    """Of an exposure on a controller that is not heard any more, lit at ``lit_us`` of its clock (0: not known to be).

    Certain is what it told of itself last; possible is until its own end, or its silence after our last word, and what a
    warm lamp gives more by then (``less_us`` at most).
    """
    if not lit_us:
        return Light(0, row.ordered_us, UNHEARD)
    low = max(row.seen_us, lost.heard_us - lit_us if lost.lit else 0)
    high = lost.silent_us + SILENCE_US + DRIFT_US + less_us - lit_us if lost.silent_us else row.ordered_us
    return Light(min(low, row.ordered_us), max(low, min(high, row.ordered_us)), UNHEARD)


def of_record(record: messages.ExposureRecord, row: ExposureRow, *, up_since_noted: bool) -> Light:
    """What a controller says of an exposure when it is heard again.

    ``up_since_noted``: it has not been without power since the exposure was noted, so what it does not know never was.
    """
    if record.known and record.off_us:
        return from_dark(record, row.ordered_us)
    if not record.known and up_since_noted and not row.lit:
        return Light(0, 0, NOT_LIT)
    # What was certain and possible when it fell silent is so still.
    low = max(row.seen_us, row.low_us or 0)
    high = row.ordered_us if row.high_us is None else row.high_us
    return Light(low, max(low, high), UNHEARD if record.known else POWER_LOST, row.cut_us)
