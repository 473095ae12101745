"""Cues: from a plan's marks to the keeper's list, and from the keeper's word back to what is said."""

from dataclasses import dataclass

from timer.craft.lamp_response import LampResponse, on_time
from timer.keeper.wire import messages
from timer.plans.model import Step

_CODES = {"warn": messages.Cue.WARN, "change": messages.Cue.CHANGE}


@dataclass(frozen=True)
class Cued:
    """A cue as it happens, ``at`` full-light seconds into its step."""

    cue: str
    at: float
    say: str = ""


def to_keeper(step: Step, skip: float, response: LampResponse) -> tuple[tuple[int, int], ...]:
    """The step's warnings and changes as (µs of lamp-on time, code), when ``skip`` seconds of it are given already."""
    return tuple(
        (round(on_time(mark.at - skip, response) * 1e6), int(_CODES[mark.cue]))
        for mark in step.marks
        if mark.cue in _CODES and mark.at > skip
    )


def from_keeper(step: Step, skip: float, at_us: int, code: int, response: LampResponse) -> Cued:
    """What to say for the keeper's cue ``code`` at ``at_us``."""
    cue = messages.Cue(code).name.lower()
    if code == messages.Cue.TICK:
        return Cued(cue, skip + at_us / 1e6)
    same = [mark for mark in step.marks if mark.cue == cue and mark.at > skip]
    near = min(same, key=lambda mark: abs(on_time(mark.at - skip, response) * 1e6 - at_us), default=None)
    return Cued(cue, near.at if near else skip + at_us / 1e6, near.say if near else "")
