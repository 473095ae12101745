"""Plans of several settings on one sheet: rings and ladders of filter packs or lights, and the dry-down set."""

from collections.abc import Sequence

from timer.craft.heads import Setting, ladder, ring, text_of, time_change
from timer.craft.lights import COLOURS, Lights, amounts
from timer.craft.paper import dry_down_times
from timer.craft.stops import stops_between
from timer.errors import Refused
from timer.plans.cue_points import marks
from timer.plans.model import Plan, PlanPatch, Step


def ring_plan(setting: Setting, size: float, seconds: float, head: str, top: float = 0.0) -> Plan:
    """A ring-around of ``size`` CC; Refused when the head is not known, or ends before."""
    try:
        row = ring(setting, size, top)
    except ValueError as error:
        raise Refused(str(error)) from None
    return packs_plan(f"ring around {text_of(setting)}", row, seconds, head)


def ladder_plan(setting: Setting, ink: str, steps: tuple[float, ...], seconds: float, head: str, top: float = 0.0) -> Plan:
    """``steps`` in CC of one ``ink``, after the setting as it is, which times are matched to. Refused as ``ring_plan``."""
    try:
        row = ladder(setting, ink, (0.0, *(step for step in steps if step)), top)
    except ValueError as error:
        raise Refused(str(error)) from None
    return packs_plan(f"ladder of {ink} on {text_of(setting)}", row, seconds, head)


def packs_plan(title: str, settings: Sequence[tuple[str, Setting]], seconds: float, head: str) -> Plan:
    """One patch a setting, through a window, each timed so that its density matches the first one's ``seconds``.

    Of a tricolour head ``seconds`` is the longest of three; each colour goes over all patches before the next one.
    """
    first = settings[0][1]
    try:
        changes = [time_change(first, setting, head) for _, setting in settings]
    except ValueError as error:
        raise Refused(str(error)) from None
    notes, patches, made = [], [], []
    for n, ((name, setting), (change, _)) in enumerate(zip(settings, changes, strict=True), 1):
        text, times = _exposures(first, setting, seconds, change, head)
        made.append(times)
        longest = max(times.values())
        notes.append(f"patch {n}: {name}, {text}")
        patches.append(PlanPatch(n, stops_between(seconds, longest), longest, text))
    if any(between for _, between in changes):
        notes.append("some times stand between published rows of the filter table")
    steps: list[Step] = []
    now = ""
    dialled = head != "tricolour"  # three filters are told apart by the hand; the numbers of a dial are not
    for turn in range(len(made[0])):
        for n, ((name, _), times) in enumerate(zip(settings, made, strict=True), 1):
            filters, time = list(times.items())[turn]
            change_filters = f"filters to {filters}; " if filters != now else ""
            if dialled and now and filters != now:
                steps.append(Step("look", f"set {filters}", f"patch {n}", filters=filters))
            steps += _lit(n, f"{change_filters}window over patch {n}, all else covered", time, filters, name)
            now = filters
    return Plan("strip", title, tuple(steps), tuple(patches), tuple(notes), "ra4")


def _exposures(first: Setting, setting: Setting, seconds: float, change: float, head: str) -> tuple[str, dict[str, float]]:
    """How a patch is named, and the seconds through each filter that it takes."""
    if head != "tricolour" or not isinstance(setting, Lights) or not isinstance(first, Lights):
        text = text_of(setting)
        return text, {text: seconds * change}
    scale = seconds * change / max(amounts(first))
    lights = Lights(*(round(amount * scale, 2) for amount in amounts(setting)))
    return text_of(lights), dict(zip(COLOURS, (amount * scale for amount in amounts(setting)), strict=True))


REFERENCE = "reference, kept wet"


def dry_down_of(plan: Plan) -> tuple[float, ...]:
    """Per cent less than the reference of each piece of a dry-down set; nothing of any other test."""
    if not any(step.say == REFERENCE for step in plan.steps):
        return ()
    reference = plan.patches[0].seconds
    return tuple(round(100 * (1 - patch.seconds / reference), 1) for patch in plan.patches)


def dry_down_plan(seconds: float) -> Plan:
    """The reference and five shorter prints; the dry one that matches the wet reference is the paper's number."""
    steps: list[Step] = []
    patches: list[PlanPatch] = []
    for n, (less, time) in enumerate(dry_down_times(seconds), 1):
        name = f"{less:g} % less" if less else REFERENCE
        steps += _lit(n, f"piece {n} in the easel, number it: {name}", time, "", name)
        patches.append(PlanPatch(n, stops_between(seconds, time), time))
    notes = ("keep piece 1 wet, dry the others; the dry one that matches it gives dry_down_percent for this paper",)
    return Plan("strip", f"dry-down set on {seconds:g} s", tuple(steps), tuple(patches), notes, "bw")


def _lit(n: int, hands: str, seconds: float, filters: str, name: str) -> list[Step]:
    area = f"patch {n}"
    return [
        Step("wait", hands, area, filters=filters),
        Step("expose", name, area, seconds, filters, marks(seconds)),
    ]
