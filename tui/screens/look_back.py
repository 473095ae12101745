"""Look back: which patch was right? What it says goes into the print that the test was made for, and nowhere else."""

from dataclasses import replace
from fractions import Fraction

from textual.app import ComposeResult
from textual.widgets import Static

from timer.app.jobs import Job
from timer.app.picks import Pick
from timer.craft.stops import between, format_stops, stops_between
from timer.errors import LamphouseError
from timer.plans.model import Plan
from timer.plans.recipe_rows import empty
from tui.page import Page
from tui.widgets.sheet import Sheet


def chosen_seconds(plan: Plan, place: int) -> float:
    """Seconds at ``place``, in half patches from the first: 0 is patch 1, 1 is between 1 and 2 (geometric mean)."""
    low = plan.patches[place // 2].seconds
    return low if place % 2 == 0 else between(low, plan.patches[place // 2 + 1].seconds)


def place_name(place: int) -> str:
    """Half patches from 0 in words: 2 is patch 2, and 3 is between 2 and 3."""
    return f"patch {place // 2 + 1}" if place % 2 == 0 else f"between {place // 2 + 1} and {place // 2 + 2}"


class LookBack(Page):
    """The test drawn, and on it the place that was right, in half patches."""

    phase = "LOOK BACK"

    def __init__(self, job: Job) -> None:
        super().__init__()
        self.job, self._plan = job, job.plan
        self.place = (len(self._plan.patches) - 1) // 2 * 2

    @property
    def _step(self) -> int:
        """Half patches at a time; whole ones where there is nothing between two, as of filter packs."""
        first = self.job.picks[0] if self.job.picks else Pick(0)
        return 2 if first.pack or first.dry_down is not None else 1

    @property
    def _pick(self) -> Pick:
        if self.place % 2 == 0 and self.job.picks:
            return self.job.picks[self.place // 2]
        return Pick(chosen_seconds(self._plan, self.place))

    def body(self) -> ComposeResult:
        yield Sheet(id="sheet", markup=False)
        yield Static(id="hands", markup=False)

    def begin(self) -> None:
        self._draw()

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        self.query_one("#sheet", Sheet).show(self._plan)
        pick = self._pick
        last = 2 * (len(self._plan.patches) - 1)
        advice = ""
        if self._step == 1 and self.place == 0:
            advice = "\nall too dark? make the next strip one or two stops shorter"
        elif self._step == 1 and self.place == last:
            advice = "\nall too light? make the next strip one or two stops longer"
        if not self.job.made_for:
            advice += "\ne: a new recipe with it as the base"
        self.query_one("#hands", Static).update(
            f"\nWhich patch was right?  {place_name(self.place)}: {self._says(pick)}{advice}"
        )
        self.next_action(f"Enter: {self._what(pick)}\nleft right: choose   q: leave")

    def _says(self, pick: Pick) -> str:
        if pick.pack:
            return f"{pick.pack}, {pick.seconds:.2f} s"
        if pick.dry_down is not None:
            return f"{pick.dry_down:g} % less, {pick.seconds:.2f} s"
        stops = Fraction(stops_between(self._plan.patches[0].seconds, pick.seconds)).limit_denominator(24)
        return f"{pick.seconds:.2f} s, {format_stops(stops, signed=True)} stop from patch 1"

    def _what(self, pick: Pick) -> str:
        """What Enter writes, and where."""
        target = self.job.made_for
        if target is None:
            return f"take {pick.seconds:.1f} s as the middle of the next strip; it was made for no print"
        if pick.pack:
            return f"{pick.pack}, {pick.seconds:.1f} s as a recipe beside {target.name}"
        if pick.dry_down is not None:
            return f"dry-down {pick.dry_down:g} % into {target.name} ({target.plan.title})"
        return f"take {pick.seconds:.1f} s as the base of {target.name} ({target.plan.title})"

    def pressed(self, key: str) -> bool:
        last = 2 * (len(self._plan.patches) - 1)
        if key in ("left", "right"):
            self.place = max(0, min(last, self.place + (self._step if key == "right" else -self._step)))
        elif key.isdigit() and 1 <= int(key) <= len(self._plan.patches):
            self.place = 2 * (int(key) - 1)
        elif key == "enter":
            self._take()
            return True
        elif key == "e" and not self.job.made_for and not self.context.paper_out:
            self.context.show("edit", None, empty(self._plan.paper, self._pick.seconds))
            return True
        else:
            return False
        self._draw()
        return True

    def _take(self) -> None:
        context, pick = self.context, self._pick
        if self.job.made_for:
            try:
                context.chosen = context.darkroom.book.take(self.job, pick)
            except LamphouseError as error:
                return context.report(str(error))
        else:
            count = context.choice.patches
            first = pick.seconds / 2 ** (float(context.choice.step) * (count - 1) / 2)
            context.choice = replace(context.choice, seconds=first)
        return context.go_back()
