"""Plans of several settings on one sheet: rings and ladders of filter packs, and the dry-down set."""

from timer.craft.filters import Pack
from timer.craft.paper import dry_down_times
from timer.craft.stops import stops_between
from timer.errors import Refused
from timer.move import pack_change
from timer.plan import Mark, Plan, PlanPatch, Step


def packs_plan(title: str, packs: list[tuple[str, Pack]], seconds: float, head: str) -> Plan:
    """One patch a pack, through a window, each timed so that its density matches the first one's ``seconds``."""
    steps: list[Step] = []
    patches: list[PlanPatch] = []
    notes = [f"patch {n}: {name}, {pack}" for n, (name, pack) in enumerate(packs, 1)]
    for n, (name, pack) in enumerate(packs, 1):
        try:
            change, how = pack_change(packs[0][1], pack, head)
        except ValueError as error:
            raise Refused(str(error)) from None
        if how and n == 2:
            notes.append("some times stand between published rows of the filter table")
        time = seconds * change
        steps += _window(n, f"filters to {pack}; window over patch {n}, all else covered", time, str(pack), name)
        patches.append(PlanPatch(n, stops_between(seconds, time), time, str(pack)))
    return Plan("strip", title, tuple(steps), tuple(patches), tuple(notes), "ra4")


def dry_down_plan(seconds: float) -> Plan:
    """The reference and five shorter prints; the dry one that matches the wet reference is the paper's number."""
    steps: list[Step] = []
    patches: list[PlanPatch] = []
    for n, (less, time) in enumerate(dry_down_times(seconds), 1):
        name = f"{less:g} % less" if less else "reference, kept wet"
        steps += _window(n, f"piece {n} in the easel, number it: {name}", time, "", name)
        patches.append(PlanPatch(n, stops_between(seconds, time), time))
    notes = ("keep piece 1 wet, dry the others; the dry one that matches it gives dry_down_percent for this paper",)
    return Plan("strip", f"dry-down set on {seconds:g} s", tuple(steps), tuple(patches), notes, "silver")


def _window(n: int, hands: str, seconds: float, filters: str, name: str) -> list[Step]:
    area = f"patch {n}"
    return [
        Step("wait", hands, area, filters=filters),
        Step("expose", name, area, seconds, filters, (Mark(seconds, "end", "off"),)),
    ]
