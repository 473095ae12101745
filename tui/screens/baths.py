"""Baths: the clocks of the baths, by ear and foot. It never changes the room light: the printer does that, when all paper
is covered."""

import time

from textual.app import ComposeResult
from textual.widgets import Static

from timer.app import baths as clocks
from timer.app.processes import every_process, process_clock, process_times
from timer.errors import LamphouseError
from tui.typing_page import TypingPage
from tui.widgets.digits import BigSeconds

WIDE = 72
"""From this width on each clock has its bar."""


class Baths(TypingPage):
    """Every clock in a line, the time to the next act of the hands in big digits; a press pours."""

    phase = "BATHS"
    hears_clocks = True
    guarded = frozenset({"a", "h"})
    celsius: float | None = None
    """Of the baths of the next clock; None: as the process has it."""
    follows = ""

    def body(self) -> ComposeResult:
        yield Static(id="area", markup=False)
        yield BigSeconds(id="digits", markup=False)
        yield Static(id="list", markup=False)

    def begin(self) -> None:
        found = every_process()
        self.names, self.bad = list(found.good), list(found.broken.values())
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
            return None  # just left, or not quite there
        context, now = self.context, time.monotonic()
        running, one = context.clocks.all, context.clocks.chosen
        first = clocks.first_to_call(running, now)
        rows = [
            _row(n, clock, now, self.size.width, chosen=n == context.clocks.at + 1) for n, clock in enumerate(running, 1)
        ]
        if one and one.light_allowed:
            shut = "once all other paper is covered: c" if context.paper_out else "no paper is out"
            rows.append(f"  white light allowed, {shut}")
        rows += ["", *self._new(), *(f"  {says}" for says in self.bad)]
        if first is None:
            self.write("area", "no clock" if not one else f"{one.title}: over")
            self.query_one(BigSeconds).blank()
        else:
            next_one = running[first]
            act = clocks.act(next_one, now)
            self.write("area", f"{first + 1} {next_one.title}: {act}" if self.size.width >= WIDE else f"{first + 1} {act}")
            longest = max(bath.seconds for clock in running for bath in clock.baths)
            self.query_one(BigSeconds).show(clocks.to_act(next_one, now), longest)
        self.write("list", "\n".join(rows))
        if self.entry:
            return self.next_action(self.entry_foot())
        waiting = bool(one and one.at and one.poured is None)
        what = f"Enter or pedal: {one.at.name} is in   " if waiting and one and one.at else ""
        if self.size.width < WIDE:
            return self.next_action(f"{what.rstrip() or 'a new  h hands-free'}\na h new  x none  <-> process  t degrees")
        keys = "a: new clock   h: new, hands-free   x: remove"
        keys = keys if len(what) + len(keys) <= self.size.width else "a  h  x"
        return self.next_action(f"{what}{keys}\nup down: clock   left right: process, t: temperature of the new clock")

    def _new(self) -> list[str]:
        """The process that a new clock would have, and its times at the temperature that was typed."""
        if not self.names:
            return ["new: none"]
        return [f"new: {self.names[self.at]}", *([f"  {self.follows}"] if self.follows else [])]

    def _follow(self) -> None:
        """What the temperature does to the times of the process that is chosen, in words."""
        try:
            self.follows = process_times(self.names[self.at], self.celsius) if self.names else ""
        except LamphouseError as error:
            self.follows = str(error)

    def _warm(self, text: str) -> None:
        """The temperature as it was typed; none: as the process has it."""
        try:
            self.celsius = float(text.removesuffix("C").rstrip(" °")) if text else None
        except ValueError:
            raise ValueError(f"{text!r} is no temperature; write it in degrees Celsius, like 21.5") from None
        self._follow()

    def _typed(self, key: str) -> None:
        """With paper out too: that is when baths run."""
        if self.entry and key not in ("enter", "escape"):
            self.entry = self.entry.came(key)
        else:
            super()._typed(key)

    def _act(self, key: str) -> bool:
        context, now = self.context, time.monotonic()
        match key:
            case "up" | "down" if context.clocks.all:
                context.clocks.move(1 if key == "down" else -1)
            case "left" | "right" if self.names:
                self.at = (self.at + (1 if key == "right" else -1)) % len(self.names)
                self._follow()
            case "enter":
                context.clocks.answer(now)
            case "a" | "h" if self.names:
                try:
                    context.clocks.begin(
                        process_clock(self.names[self.at], now, hands_free=key == "h", celsius=self.celsius)
                    )
                except LamphouseError as error:
                    context.report(str(error))
            case "t" if self.names:
                self.ask("temperature in °C, like 21.5", self._warm)
            case "x" if context.clocks.all:
                context.clocks.remove()
            case _:
                return False
        return True


def _row(number: int, clock: clocks.Clock, now: float, width: int, *, chosen: bool) -> str:
    """Number, name, how far its bath is, and what it does and calls for next."""
    mark = ">" if chosen else " "
    says = clocks.standing(clock, now) or "all over"
    if width < WIDE:
        return f"{mark} {number} {clock.title[:9]:9} {says}"
    bar = max(10, width - 66)
    done = round(bar * clocks.share(clock, now))
    return f"{mark} {number} {clock.title[:22]:22} {'█' * done}{'░' * (bar - done)}  {says}"
