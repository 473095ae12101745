"""What bursts do to the colour of a strip's patches, or of a print; noted in the plan beforehand."""

import re
from dataclasses import replace

from timer.craft.lamp_response import LampResponse
from timer.craft.layers import LAYERS, LONG_S, TYPICAL, Layers, shift_cc, shift_from_long, shifts
from timer.craft.strip import Way
from timer.plans.model import Plan, Step

WORTH_SAYING_CC, OF_BURSTS_CC = 1.0, 0.3
"""From where on a short exposure's colour is spoken of; and that of bursts, which a window would spare."""
AREA = re.compile(r"patch(?:es)? (\d+)(?: to (\d+))?")


def usual_way(paper: str) -> Way:
    """Colour patches in one exposure each, as the print will be; black-and-white ones under a card."""
    return "window" if paper == "ra4" else "cover"


def patch_numbers(step: Step) -> frozenset[int]:
    """The patches of a strip that ``step`` lies over; none of anything else."""
    area = AREA.fullmatch(step.area)
    return frozenset(range(int(area[1]), int(area[2] or area[1]) + 1)) if area else frozenset()


def _bursts(plan: Plan) -> dict[str, dict[str, list[float]]]:
    """The full-light seconds of every burst that each patch of a strip, or a print's base, has: in order, by filters."""
    found: dict[str, dict[str, list[float]]] = {}
    for step in plan.steps:
        patches = patch_numbers(step)
        if step.do != "expose" or not (patches or step.area == "base"):
            continue
        for name in [f"patch {n}" for n in sorted(patches)] or ["the base"]:
            found.setdefault(name, {}).setdefault(step.filters, []).append(step.seconds)
    return found


def patch_bursts(plan: Plan) -> dict[str, list[float]]:
    """The full-light seconds of every burst that each patch of a strip has, in order; those of a print's base.

    What is exposed through several filters, light after light, has a colour of its own and is left out.
    """
    return {name: next(iter(lit.values())) for name, lit in _bursts(plan).items() if len(lit) == 1}


def bursts_in_turn(plan: Plan) -> dict[str, tuple[list[float], ...]]:
    """The same of what is exposed through red, green and blue in turn: the bursts of each light, in that order."""
    turns = {name: lit for name, lit in _bursts(plan).items() if set(lit) == set(LAYERS)}
    return {name: tuple(lit[light] for light in LAYERS) for name, lit in turns.items()}


def with_colour_note(plan: Plan, timed_by: LampResponse, layers: Layers | None) -> Plan:
    """A plan on colour paper, with a note on how far its bursts put the layers apart; any other plan as it is.

    ``layers``: the responses of red, green and blue, or None where they are not measured.
    """
    made, turns = (patch_bursts(plan), bursts_in_turn(plan)) if plan.paper == "ra4" else ({}, {})
    if not (made or turns):
        return plan
    known = layers or TYPICAL
    whence = "" if layers else ", if yours is like a 250 W halogen (its layers are not calibrated)"
    apart = {name: shift_cc(shifts(bursts, timed_by, known)) for name, bursts in made.items()}
    for name, lights in turns.items():  # a layer has its own light alone
        each = [shifts(bursts, timed_by, [layer])[0] for bursts, layer in zip(lights, known, strict=True)]
        apart[name] = shift_cc(each)
    worst = max(apart, key=lambda name: apart[name])
    shortest = min((sum(bursts) for bursts in made.values()), default=LONG_S)
    short = shift_from_long(shortest, timed_by, known)
    count = f"{len(made[worst])} bursts" if worst in made else f"{len(turns[worst][0])} bursts of each light"
    if apart[worst] >= OF_BURSTS_CC:
        instead = (
            "judge density here, colour on a strip made by window"
            if plan.kind == "strip"
            else "dodge it run-through for colour"
        )
        note = f"made of {count}, {worst} is {apart[worst]:.1f} CC off the colour of one exposure{whence}: {instead}"
    elif short >= WORTH_SAYING_CC:
        note = (
            f"in {shortest:.1f} s the lamp is redder than in a longer print: {short:.1f} CC{whence}; a smaller aperture "
            "makes the times longer"
        )
    else:
        return plan
    return replace(plan, notes=(*plan.notes, note))
