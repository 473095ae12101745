"""What a strip made in bursts does to the colour of its patches, said before it is made."""

import re
from dataclasses import replace

from timer.craft.lamp_response import LampResponse
from timer.craft.layers import TYPICAL, Layers, shift_cc, shift_from_long, shifts
from timer.craft.strip import Way
from timer.plan import Plan

WORTH_SAYING_CC, OF_BURSTS_CC = 1.0, 0.3
"""From where on a short exposure's colour is spoken of; and that of bursts, which a window would spare."""
AREA = re.compile(r"patch(?:es)? (\d+)(?: to (\d+))?")


def usual_way(paper: str) -> Way:
    """Colour patches in one exposure each, as the print will be; black-and-white ones under a card."""
    return "window" if paper == "ra4" else "cover"


def patch_bursts(plan: Plan) -> dict[int, list[float]]:
    """The full-light seconds of every burst that each patch of a strip has, in order."""
    found: dict[int, list[float]] = {patch.patch: [] for patch in plan.patches}
    for step in plan.steps:
        area = AREA.fullmatch(step.area)
        if step.do == "expose" and area:
            for patch in range(int(area[1]), int(area[2] or area[1]) + 1):
                found[patch].append(step.seconds)
    return found


def with_colour_note(plan: Plan, timed_by: LampResponse, layers: Layers | None) -> Plan:
    """A colour strip, with a note on how far its bursts put the layers apart; any other plan as it is.

    ``layers``: the responses of red, green and blue, or None where they are not measured.
    """
    if plan.kind != "strip" or plan.paper != "ra4" or not plan.patches:
        return plan
    known = layers or TYPICAL
    whence = "" if layers else ", if yours is like a 250 W halogen (its layers are not calibrated)"
    made = patch_bursts(plan)
    apart = {patch: shift_cc(shifts(bursts, timed_by, known)) for patch, bursts in made.items() if bursts}
    worst = max(apart, key=lambda patch: apart[patch])
    shortest = min(sum(bursts) for bursts in made.values() if bursts)
    short = shift_from_long(shortest, timed_by, known)
    if apart[worst] >= OF_BURSTS_CC:
        note = (
            f"made of {len(made[worst])} bursts, patch {worst} is {apart[worst]:.1f} CC off the colour of a print in one "
            f"exposure{whence}: judge density here, colour on a strip made by window"
        )
    elif short >= WORTH_SAYING_CC:
        note = (
            f"in {shortest:.1f} s the lamp is redder than in a longer print: {short:.1f} CC{whence}; a smaller aperture "
            "makes the times longer"
        )
    else:
        return plan
    return replace(plan, notes=(*plan.notes, note))
