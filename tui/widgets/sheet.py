"""The sheet, drawn: a strip's patches with their times, or a print with the areas that are worked on."""

from textual.widgets import Static

from timer.plans.model import Plan


def strip_rows(plan: Plan, width: int) -> list[str]:
    """Patches side by side, lightest at the left, shaded as they will look, and each is numbered and timed."""
    count = len(plan.patches)
    cell = max(3, min(9, (width - 1) // count - 1))
    shades = "█▓▒░ "  # the screen is black: a full block is the lightest paper
    top = "┌" + "┬".join("─" * cell for _ in plan.patches) + "┐"
    numbers = "│" + "│".join(str(p.patch).center(cell) for p in plan.patches) + "│"
    shade = "│" + "│".join(shades[round(4 * n / max(1, count - 1))] * cell for n in range(count)) + "│"
    times = "│" + "│".join(_time(p.seconds, cell).center(cell) for p in plan.patches) + "│"
    bottom = "└" + "┴".join("─" * cell for _ in plan.patches) + "┘"
    return [top, numbers, shade, shade, times, bottom]


def print_rows(plan: Plan, width: int) -> list[str]:
    """The sheet with each dodge (-) and burn (+) named in the order it is done."""
    inner = max(10, min(width, 36) - 2)
    names: list[str] = []
    for step in plan.steps:
        if step.do != "expose":
            continue
        if step.area == "base":
            for say in (step.say.removeprefix(f"{step.area}: "), *(m.say for m in step.marks if m.cue == "change")):
                if say.startswith("hold back "):
                    names.append("- " + say.removeprefix("hold back ").split(" (")[0])
        elif step.area != "flash":
            names.append("+ " + step.area)
    rows = ["", *dict.fromkeys(names), ""] if names else ["", "straight print", ""]
    return ["┌" + "─" * inner + "┐", *("│" + row[:inner].center(inner) + "│" for row in rows), "└" + "─" * inner + "┘"]


def _time(seconds: float, width: int) -> str:
    text = f"{seconds:.1f}" if seconds >= 1 else f"{seconds:.2f}"
    return text if len(text) <= width else f"{seconds:.0f}"[:width]


class Sheet(Static):
    """A drawing in letters, as wide as there is room."""

    def show(self, plan: Plan) -> None:
        """Draw the sheet that ``plan`` makes."""
        width = max(12, self.size.width or 38)
        rows = strip_rows(plan, width) if plan.patches else print_rows(plan, width)
        self.update("\n".join(rows))
