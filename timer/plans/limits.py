"""Plans that no lamp can give are refused before any light; short exposures are warned of."""

from collections.abc import Sequence

from timer.craft.dodge_burn import SMALLEST_S as SMALLEST_S
from timer.craft.lamp_response import INSTANT, LampResponse, on_time
from timer.craft.stops import digits, told_apart
from timer.errors import Refused
from timer.plans.model import Plan, Step
from timer.plans.strip_colour import patch_numbers

MAX_MARKS = 40
"""Cues that one exposure can carry on the link (docs/protocol.md)."""


SHORT_BURST_S = 0.5
"""Light shorter than this is warned of while the lamp is not calibrated; a filament takes a good part of it to come up."""


def short_light(plan: Plan, lamp: LampResponse) -> tuple[str, ...]:
    """A warning of exposures that end before ``lamp`` is fully up (not calibrated: that are shorter than SHORT_BURST_S)."""
    exposures = [step for step in plan.steps if step.do == "expose"]
    calibrated = bool(lamp.delay or lamp.rise)
    # After three time constants a rise is 95 % done.
    up = lamp.delay + 3 * lamp.rise if calibrated else SHORT_BURST_S
    short = [step for step in exposures if step.seconds < up]
    if not short:
        return ()
    least = min(short, key=lambda step: step.seconds)
    many = f"{len(short)} of {len(exposures)} exposures are" if len(short) > 1 else f"the exposure of {least.area} is"
    lamp_says = f"the {digits(up)} s that this lamp takes to come up" if calibrated else f"{SHORT_BURST_S:g} s"
    ways = "a smaller aperture makes them longer" + (", and so does a window" if _adds_up(least, exposures) else "")
    return (
        f"{many} shorter than {lamp_says} (the shortest {digits(least.seconds)} s): what they give is less sure; {ways}",
    )


def _adds_up(burst: Step, exposures: Sequence[Step]) -> bool:
    """Whether a patch of ``burst`` has its light in several bursts, under a card that moves on."""
    lit = patch_numbers(burst)
    others = [step for step in exposures if step.filters == burst.filters and step.area != burst.area]
    return any(lit & patch_numbers(other) for other in others)


def check_limits(plan: Plan, ceiling_s: float, response: LampResponse = INSTANT) -> None:
    """Refuse, before any light, a plan that the keeper would refuse in the middle: by lamp-on time, as the keeper counts."""
    for step in plan.steps:
        if step.do != "expose":
            continue
        if step.seconds < SMALLEST_S:
            raise Refused(
                f"{step.area}: {told_apart(step.seconds, SMALLEST_S)} s of light cannot be given, {SMALLEST_S:g} s is the "
                "least; take a longer time, or larger steps"
            )
        on_s = on_time(step.seconds, response)
        if on_s < SMALLEST_S / 10:
            raise Refused(
                f"{step.area}: {digits(step.seconds)} s of light cannot be given, since this lamp gives more before it can "
                "be off again; a smaller aperture makes it longer, or measure the lamp again with `lamphouse calibrate`"
            )
        if on_s > ceiling_s:
            raise Refused(
                f"{step.area}: {told_apart(on_s, ceiling_s)} s is over the {ceiling_s:g} s that the lamp may stay on at "
                "once; open the lens, split the burn in two, or raise ceiling_s in the settings"
            )
        if len(step.marks) > MAX_MARKS:
            raise Refused(f"{step.area}: {len(step.marks)} changes in one exposure are too many; use stop-start dodging")
