"""The bar of an exposure: how far it is, and where the changes lie."""

from textual.widgets import Static

from timer.plans.model import Step


def bar(step: Step, given: float, width: int) -> str:
    """One row: done, to come, and a mark where the hands change."""
    if step.seconds <= 0 or width < 3:
        return ""
    done = round(width * min(1.0, given / step.seconds))
    row = ["█" if n < done else "░" for n in range(width)]
    for mark in step.marks:
        if mark.cue == "change":
            row[min(width - 1, round(width * mark.at / step.seconds))] = "┃"
    return "".join(row)


class ExposureBar(Static):
    """Of the step at hand."""

    def show(self, step: Step, given: float) -> None:
        """``given`` full-light seconds of ``step`` are done."""
        self.update(bar(step, given, max(3, self.size.width or 40)))

    def blank(self) -> None:
        """Nothing is shown."""
        self.update("")
