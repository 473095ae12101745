"""The clocks of the baths that run, and the one that is chosen; they run on while other pages are shown."""

import time

from timer.app import baths
from timer.craft.processing import Call


class BathClocks:
    """All times are seconds of the monotonic clock."""

    def __init__(self) -> None:
        self.all: list[baths.Clock] = []
        self.at = 0

    @property
    def chosen(self) -> baths.Clock | None:
        """The clock that is chosen; None where there is none."""
        return self.all[self.at] if self.all else None

    @property
    def run(self) -> bool:
        """Whether one runs."""
        return bool(self.standing(time.monotonic()))

    def begin(self, clock: baths.Clock) -> None:
        """One more, and it is chosen."""
        self.all.append(clock)
        self.at = len(self.all) - 1

    def move(self, by: int) -> None:
        """Choose another, round and round; there is one at least."""
        self.at = (self.at + by) % len(self.all)

    def remove(self) -> None:
        """Take the chosen one away; there is one at least."""
        self.all.pop(self.at)
        self.at = 0

    def tick(self, now: float) -> list[Call]:
        """Advance every clock; all that has come due."""
        due: list[Call] = []
        for n, clock in enumerate(self.all):
            self.all[n], said = baths.tick(clock, now)
            due += said
        return due

    def answer(self, now: float) -> None:
        """The press that pours: for the clock that is chosen if it waits, else for the one that has waited longest."""
        waiting = [n for n, clock in enumerate(self.all) if not clock.over and clock.poured is None]
        if waiting:
            n = self.at if self.at in waiting else min(waiting, key=lambda n: self.all[n].since)
            self.all[n] = baths.answer(self.all[n], now)
            self.at = n

    def standing(self, now: float) -> str:
        """Each clock that runs and its next call, in one line; "" where none runs."""
        words = [baths.standing(clock, now) for clock in self.all]
        return "   ".join(word for word in words if word)
