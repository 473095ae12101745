"""The light of one exposure as it is booked: lamp-on µs as a value or a range, and the full light that makes."""

from dataclasses import dataclass

from timer.craft.lamp_response import LampResponse, full_light
from timer.notebook.rows import ExposureRow

COMPLETE, LATE, NOT_LIT = "complete", "late", "not_lit"
WORDS = {
    "halted": "stopped by you",
    "pedal": "stopped by the pedal",
    "host_silent": "the screen was not heard",
    "link_closed": "the screen or command ended",
    "signal": "the keeper was ended",
    "fault": "a fault",
    "keeper_lost": "the keeper was lost",
    "ceiling": "the dose was not reached in its longest time",
    "late": "too long: the lamp went off late",
    NOT_LIT: "not given",
    "unheard": "not heard yet from the controller",
    "unseen": "its end was not seen",
    "power_lost": "the power went",
}
"""Why an exposure ended otherwise than by itself, as a reader of the notebook is told."""
UNHEARD, UNSEEN, POWER_LOST = "unheard", "unseen", "power_lost"
UNSETTLED = frozenset({UNHEARD, UNSEEN})
"""Ends that may yet be told better: by a controller that is heard again, or by a memory that is found."""


@dataclass(frozen=True)
class Light:
    """What an exposure gave: between ``low_us`` and ``high_us`` (None: nobody knows how much), and why it ended.

    ``cut_us``: how much less lamp-on time a warm lamp was given. ``counts``: of a light sensor.
    """

    low_us: int
    high_us: int | None
    why: str
    cut_us: int = 0
    counts: int | None = None

    @property
    def done(self) -> bool:
        """It had all that was asked for, or more."""
        return self.why in (COMPLETE, LATE)


def booked(row: ExposureRow) -> Light | None:
    """What the notebook has of an exposure's light; None while it has no end."""
    if row.why is None or row.low_us is None:
        return None
    return Light(row.low_us, row.high_us, row.why, row.cut_us)


def full_seconds(light: Light, response: LampResponse, dose_s: float | None = None) -> tuple[float, float | None]:
    """Full-light seconds (least, most) of a light; by a light sensor's count where there is one."""
    if dose_s is not None:
        return dose_s, dose_s
    low = _full(light.low_us, light.cut_us, response)
    return low, None if light.high_us is None else _full(light.high_us, light.cut_us, response)


def _full(on_us: int, cut_us: int, response: LampResponse) -> float:
    """A warm lamp begins where a cold one is after ``cut_us``: that much time it was given less, for the same light."""
    if on_us <= 0:
        return 0.0
    light = full_light((on_us + cut_us) / 1e6, response)
    return min(light, on_us / 1e6) if cut_us else light


def range_text(low: float, high: float | None, digits: int = 2) -> str:
    """Like "1.20", "1.10 to 1.30", or "1.10 or more"."""
    if high is None:
        return f"{low:.{digits}f} or more"
    least, most = f"{low:.{digits}f}", f"{high:.{digits}f}"
    return least if least == most else f"{least} to {most}"


def given_text(row: ExposureRow, response: LampResponse) -> str:
    """Full-light seconds that an exposure had, and why it ended if not by itself."""
    light = booked(row)
    if light is None:
        return "no end known"
    if light.why == NOT_LIT:  # nobody pressed for it: no lamp failed, and there are no seconds to tell
        return WORDS[NOT_LIT]
    return f"{range_text(*full_seconds(light, response, row.dose_s))} s" + (
        "" if row.why == COMPLETE else f" ({WORDS.get(row.why or '', row.why)})"
    )
