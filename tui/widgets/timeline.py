"""The exposures of a plan in one line, each as long as its light; hands change at a dotted line, filters at a break."""

from textual.widgets import Static

from timer.plans.model import Plan, Step

LEAST = 3


def timeline(plan: Plan, width: int) -> list[str]:
    """Two rows: the exposures with their names, and their seconds below; what does not fit is left out, whole."""
    steps = [step for step in plan.steps if step.do == "expose"]
    breaks = _breaks(steps)
    room = width - sum(len(text) for text in breaks) - 2 * len(steps)
    if not steps or room < LEAST * len(steps):
        return [f"{len(steps)} exposures, {plan.total_light_s:.1f} s in all"[:width], ""]
    upper, lower = "", ""
    for step, text, wide in zip(steps, breaks, _widths(steps, room), strict=True):
        upper += f"{text}▕{_cell(step, wide)}▏"
        lower += " " * (len(text) + 1) + _fits(f"{step.seconds:.1f}", wide).ljust(wide + 1)
    return [upper, lower.rstrip()]


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

    def show(self, plan: Plan) -> None:
        """Draw the exposures of ``plan``."""
        self.update("\n".join(timeline(plan, self.size.width or 40)))

    def blank(self) -> None:
        """Nothing is shown."""
        self.update("")
