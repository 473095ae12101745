"""Baths: the clocks of the baths, by ear and foot. It never changes the room light: the printer does that, when all paper
is covered."""

import time

from textual.app import ComposeResult
from textual.widgets import Static

from timer.app import baths as clocks
from timer.app.jobs import process_clock, process_names
from timer.errors import LamphouseError
from tui.page import Page
from tui.widgets.digits import BigSeconds

WIDE = 72
"""From this width on each clock has its bar."""


class Baths(Page):
    """Every clock in a line, the chosen one in big digits too; a press pours."""

    phase = "BATHS"
    hears_clocks = True
    guarded = frozenset({"a", "h"})

    def body(self) -> ComposeResult:
        yield Static(id="area", markup=False)
        yield BigSeconds(id="digits", markup=False)
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        self.names, self.bad = process_names()
        self.at = 0
        if not hasattr(self, "clock"):
            self.clock = self.set_interval(0.2, self._tick)
        self._draw()

    # The clocks belong to the app: they run on while other pages are shown.

    def _tick(self) -> None:
        self.context.hear_clocks()
        self._draw()

    def _draw(self) -> None:
        """Large: the clock that calls the hands next, whichever is chosen; a row with its own bar for each."""
        if not self.query(BigSeconds):
            return  # just left, or not quite there
        context, now = self.context, time.monotonic()
        running, one = context.clocks.all, context.clocks.chosen
        first = clocks.first_to_call(running, now)
        rows = [_row(clock, now, self.size.width, chosen=n == context.clocks.at) for n, clock in enumerate(running)]
        if one and one.light_allowed:
            shut = "once all other paper is covered: c" if context.paper_out else "no paper is out"
            rows.append(f"  white light allowed, {shut}")
        rows += ["", "new: " + (self.names[self.at] if self.names else "none"), *(f"  {says}" for says in self.bad)]
        if first is None:
            self.write("area", "no clock" if not one else f"{one.title}: over")
            self.query_one(BigSeconds).blank()
        else:
            next_one = running[first]
            self.write(
                "area",
                f"{next_one.title}: {clocks.standing(next_one, now)}"
                if self.size.width >= WIDE
                else clocks.standing(next_one, now),
            )
            longest = max(bath.seconds for clock in running for bath in clock.baths)
            self.query_one(BigSeconds).show(clocks.left(next_one, now), longest)
        self.write("list", "\n".join(rows))
        waiting = bool(one and one.at and one.poured is None)
        what = f"Enter or pedal: {one.at.name} is in   " if waiting and one and one.at else ""
        self.next_action(
            f"{what}a: new clock   h: new, hands-free   x: remove\nup down: clock   left right: process for the new clock"
        )

    def pressed(self, key: str) -> bool:
        context, now = self.context, time.monotonic()
        match key:
            case "up" | "down" if context.clocks.all:
                context.clocks.move(1 if key == "down" else -1)
            case "left" | "right" if self.names:
                self.at = (self.at + (1 if key == "right" else -1)) % len(self.names)
            case "enter":
                context.clocks.answer(now)
            case "a" | "h" if self.names:
                try:
                    context.clocks.begin(process_clock(self.names[self.at], now, hands_free=key == "h"))
                except LamphouseError as error:
                    context.report(str(error))
            case "x" if context.clocks.all:
                context.clocks.remove()
            case _:
                return False
        self._draw()
        return True


def _row(clock: clocks.Clock, now: float, width: int, *, chosen: bool) -> str:
    """Name, how far its bath is, and what it does and calls for next."""
    mark = ">" if chosen else " "
    says = clocks.standing(clock, now) or "all over"
    if width < WIDE:
        return f"{mark} {clock.title[:9]:9} {says}"
    bar = max(10, width - 64)
    done = round(bar * clocks.share(clock, now))
    return f"{mark} {clock.title[:22]:22} {'█' * done}{'░' * (bar - done)}  {says}"
