"""The plan of a test strip."""

from collections.abc import Iterable
from fractions import Fraction

from timer.craft.dodge_burn import SMALLEST_S as SMALLEST_S
from timer.craft.stops import format_stops
from timer.craft.strip import Burst, Patch, Way, bursts, patches
from timer.documents.recipe_light import Pass
from timer.plans.cue_points import marks
from timer.plans.model import Plan, PlanPatch, Step
from timer.plans.print import filter_change


def strip_plan(
    seconds: float,
    step: Fraction,
    count: int,
    way: Way,
    *,
    around: bool = False,
    paper: str = "",
    parts: tuple[Pass, ...] = (Pass(""),),
) -> Plan:
    """The plan of a test strip; ValueError as ``craft.strip.patches`` raises it.

    ``parts`` are the filters that it is made through, with their shares of the time: one, or three in turn.
    """
    strip = patches(seconds, step, count, around=around)
    made = bursts(strip, way)
    steps: list[Step] = []
    for part in parts:
        for n, burst in enumerate(made):
            move = _move(way, burst, n, count)
            hands = f"{filter_change(part.filters)}; {move}" if part.filters and n == 0 else move
            steps.append(Step("wait", hands, filters=part.filters))
            say = "paper uncovered" if (burst.first, burst.last) == (1, count) else _named(burst)
            time = burst.seconds * part.share
            steps.append(Step("expose", say, _named(burst), time, part.filters, marks(time)))
    middle = strip[0].seconds if not around else seconds
    title = f"strip, {count} patches, {format_stops(step)} stop, {'around' if around else 'from'} {middle:.4g} s, {way}"
    return Plan("strip", title, tuple(steps), _listed(strip), (_darkest(way, count),), paper)


def _listed(strip: Iterable[Patch]) -> tuple[PlanPatch, ...]:
    return tuple(PlanPatch(p.patch, float(p.stops), p.seconds) for p in strip)


def _named(burst: Burst) -> str:
    return f"patch {burst.first}" if burst.first == burst.last else f"patches {burst.first} to {burst.last}"


def _move(way: Way, burst: Burst, n: int, count: int) -> str:
    if way == "window":
        return f"window over patch {burst.first}, all else covered"
    if way == "cover":
        return "strip uncovered" if n == 0 else f"cover patch {n} with the card: {n} of {count} covered"
    if n == 0:
        return f"cover all but patch {count} with the card"
    open_now = f"{n + 1} of {count} uncovered"
    return f"uncover patch {burst.first}: {open_now}"


def _darkest(way: Way, count: int) -> str:
    light, dark = {
        "cover": ("covered first", "never covered"),
        "uncover": ("uncovered last", "uncovered first"),
        "window": ("exposed first", "exposed last"),
    }[way]
    return f"darkest: patch {count}, the end {dark}; lightest: patch 1, {light}"
