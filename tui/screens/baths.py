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


class Baths(Page):
    """Every clock in a line, the chosen one in big digits too; a press pours."""

    phase = "BATHS"
    hears_clocks = True

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
        context, now = self.context, time.monotonic()
        rows = [f"{'>' if n == context.clock_at else ' '} {_row(c, now)}" for n, c in enumerate(context.clocks)]
        rows += ["", "new: " + (self.names[self.at] if self.names else "none"), *(f"  {says}" for says in self.bad)]
        one = context.clocks[context.clock_at] if context.clocks else None
        if one and one.at:
            ahead = [c for c in one.calls[one.called :] if c.kind != "agitate"]
            then = ahead[0].say if ahead and one.poured is not None else "pour"
            self.query_one("#area", Static).update(f"{one.at.name}   next: {then}")
            self.query_one(BigSeconds).show(clocks.left(one, now))
        else:
            self.query_one("#area", Static).update("no clock" if not one else f"{one.title}: over")
            self.query_one(BigSeconds).blank()
        if one and one.light_allowed:
            shut = "once all other paper is covered: c" if context.paper_out else "no paper is out"
            rows.insert(len(context.clocks), f"  white light allowed, {shut}")
        self.query_one("#list", Static).update("\n".join(rows))
        waiting = bool(one and one.at and one.poured is None)
        what = f"Enter or pedal: {one.at.name} is in   " if waiting and one and one.at else ""
        self.next_action(
            f"{what}a: new clock   h: new, hands-free   x: remove\nup down: clock   left right: process for the new clock"
        )

    def pressed(self, key: str) -> bool:
        context, now = self.context, time.monotonic()
        match key:
            case "up" | "down" if context.clocks:
                context.clock_at = (context.clock_at + (1 if key == "down" else -1)) % len(context.clocks)
            case "left" | "right" if self.names:
                self.at = (self.at + (1 if key == "right" else -1)) % len(self.names)
            case "enter":
                context.answer_clock(now)
            case "a" | "h" if self.names:
                try:
                    context.clocks.append(process_clock(self.names[self.at], now, hands_free=key == "h"))
                    context.clock_at = len(context.clocks) - 1
                except LamphouseError as error:
                    context.report(str(error))
            case "x" if context.clocks:
                context.clocks.pop(context.clock_at)
                context.clock_at = 0
            case _:
                return False
        self._draw()
        return True


def _row(clock: clocks.Clock, now: float) -> str:
    state = "done" if clock.over else "runs" if clock.poured is not None else "WAITS"
    return f"{clock.title:22} {clock.at.name if clock.at else 'over':12} {clocks.left(clock, now):6.0f} s  {state}"
