"""The exposures of a plan in one line, each as long as its light; hands change at a dotted line, filters at a break.

Below their names stand their seconds; or in a run, how much of the light has been given.
"""

from textual.widgets import Static

from timer.craft.stops import at_a_glance
from timer.plans.model import Plan, Step

LEAST = 3


def timeline(plan: Plan, width: int, at: Step | None = None, given: float = 0.0) -> list[str]:
    """Two rows: the exposures with their names, and below their seconds, or what was given with ``given`` of step ``at``.

    What does not fit is left out, whole; of more exposures than have room, the one at hand alone is shown.
    """
    steps = [step for step in plan.steps if step.do == "expose"]
    breaks = _breaks(steps)
    room = width - sum(len(text) for text in breaks) - 2 * len(steps)
    if not steps or room < LEAST * len(steps):
        if at and at.do == "expose" and width > 2 + LEAST:
            return [f"▕{_cell(at, width - 2)}▏", f" {_bar(at, given, width - 2)}"]
        return [f"{len(steps)} exposures, {plan.total_light_s:.1f} s in all"[:width], ""]
    upper, lower = "", ""
    now = next((n for n, step in enumerate(steps) if step is at), 0)
    for n, (step, text, wide) in enumerate(zip(steps, breaks, _widths(steps, room), strict=True)):
        upper += f"{text}▕{_cell(step, wide)}▏"
        had = given if n == now else step.seconds if n < now else 0.0
        below = _bar(step, had, wide) if at else _fits(at_a_glance(step.seconds), wide)
        lower += " " * (len(text) + 1) + below.ljust(wide + 1)
    return [upper, lower.rstrip()]


def _bar(step: Step, given: float, wide: int) -> str:
    """Done, to come, and a mark where the hands change."""
    done = round(wide * min(1.0, given / step.seconds)) if step.seconds > 0 else 0
    row = ["█" if n < done else "░" for n in range(wide)]
    for mark in step.marks:
        if mark.cue == "change":
            row[min(wide - 1, round(wide * mark.at / step.seconds))] = "┃"
    return "".join(row)


def _breaks(steps: list[Step]) -> list[str]:
    """What stands before each exposure: the filter that has to be changed to."""
    out, now = [], steps[0].filters if steps else ""
    for step in steps:
        out.append("" if step.filters == now else f" ‖{step.filters or 'no filter'}‖ ")
        now = step.filters
    return out


def _widths(steps: list[Step], room: int) -> list[int]:
    """Cells in proportion to the light, none too narrow to be seen; they fill ``room`` together."""
    total = sum(step.seconds for step in steps) or 1.0
    wide = [max(LEAST, int(room * step.seconds / total)) for step in steps]
    while sum(wide) > room:
        wide[wide.index(max(wide))] -= 1
    wide[wide.index(max(wide))] += room - sum(wide)
    return wide


def _cell(step: Step, wide: int) -> str:
    """Names over the stretches of one exposure, and a dotted line where the hands change."""
    changes = [mark for mark in step.marks if mark.cue == "change"]
    starts = [0, *(min(wide - 1, round(wide * mark.at / step.seconds)) for mark in changes)]
    names = [_name(step.area, step.say), *(_name(step.area, mark.say) for mark in changes)]
    row = ""
    for start, end, name in zip(starts, [*starts[1:], wide], names, strict=True):
        edge = "┊" if start else ""
        row += edge + _fits(name, end - start - len(edge)).ljust(max(0, end - start - len(edge)), "─")
    return row[:wide]


def _name(area: str, say: str) -> str:
    held = say.removeprefix("base: ")
    return "-" + held.removeprefix("hold back ").split(" (")[0] if held.startswith("hold back ") else area


def _fits(text: str, wide: int) -> str:
    return text if len(text) <= wide else ""


class Timeline(Static):
    """As wide as there is room."""

    def show(self, plan: Plan, at: Step | None = None, given: float = 0.0) -> None:
        """Draw the exposures of ``plan``; in a run with ``given`` seconds of step ``at``."""
        self.update("\n".join(timeline(plan, self.size.width or 40, at, given)), layout=False)

    def blank(self) -> None:
        """Nothing is shown."""
        self.update("", layout=False)
