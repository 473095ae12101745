"""Look back: which patch was right? Its time, or one between two, counted in stops, is taken on."""

from dataclasses import replace
from fractions import Fraction

from textual.app import ComposeResult
from textual.widgets import Static

from timer.craft.stops import between, format_stops, stops_between
from timer.errors import LamphouseError
from timer.plan import Plan
from tui.page import Page
from tui.widgets.sheet import Sheet


def chosen_seconds(plan: Plan, place: int) -> float:
    """Seconds at ``place``, in half patches from the first: 0 is patch 1, 1 is between 1 and 2 (geometric mean)."""
    low = plan.patches[place // 2].seconds
    return low if place % 2 == 0 else between(low, plan.patches[place // 2 + 1].seconds)


def place_name(place: int) -> str:
    return f"patch {place // 2 + 1}" if place % 2 == 0 else f"between {place // 2 + 1} and {place // 2 + 2}"


class LookBack(Page):
    phase = "LOOK BACK"

    def __init__(self, plan: Plan) -> None:
        super().__init__()
        self._plan = plan
        self.place = (len(plan.patches) - 1) // 2 * 2

    def body(self) -> ComposeResult:
        yield Sheet(id="sheet", markup=False)
        yield Static(id="hands", markup=False)

    def begin(self) -> None:
        self._draw()

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:

        self.query_one("#sheet", Sheet).show(self._plan)
        seconds = chosen_seconds(self._plan, self.place)
        stops = Fraction(stops_between(self._plan.patches[0].seconds, seconds)).limit_denominator(24)
        target = self.house.chosen
        into = f"into {target.plan.title}" if target and target.recipe else "as the middle of the next strip"
        last = 2 * (len(self._plan.patches) - 1)
        advice = ""
        if self.place == 0:
            advice = "\nall too dark? make the next strip one or two stops shorter"
        elif self.place == last:
            advice = "\nall too light? make the next strip one or two stops longer"
        self.query_one("#hands", Static).update(
            f"\nWhich patch was right?  {place_name(self.place)}: {seconds:.2f} s, "
            f"{format_stops(stops, signed=True)} stop from patch 1{advice}"
        )
        self.next_action(f"Enter: take {seconds:.1f} s {into}\nleft right: choose   q: leave it")

    def pressed(self, key: str) -> bool:
        last = 2 * (len(self._plan.patches) - 1)
        if key in ("left", "right"):
            self.place = max(0, min(last, self.place + (1 if key == "right" else -1)))
        elif key.isdigit() and 1 <= int(key) <= len(self._plan.patches):
            self.place = 2 * (int(key) - 1)
        elif key == "enter":
            self._take()
            return True
        else:
            return False
        self._draw()
        return True

    def _take(self) -> None:
        house = self.house
        seconds = chosen_seconds(self._plan, self.place)
        if house.chosen and house.chosen.recipe:
            try:
                house.chosen = house.desk.take_base(house.chosen, seconds)
            except LamphouseError as error:
                return house.report(str(error))
        else:
            count = house.choice.patches
            first = seconds / 2 ** (float(house.choice.step) * (count - 1) / 2)
            house.choice = replace(house.choice, seconds=first)
        return house.go_back()
