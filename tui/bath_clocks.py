"""The clocks of the baths that run, and the one that is chosen; they run on while other pages are shown."""

import re
import time

from timer.app import baths
from timer.craft.processing import Call

LEAST_NAME = 4
"""Letters of a process's name that say something."""


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

    def standing(self, now: float, width: int = 80) -> str:
        """Each clock that runs, by its number and its process, and its next call, in one line; "" where none runs."""
        there = [(n, clock.title, words) for n, clock in enumerate(self.all, 1) if (words := baths.standing(clock, now))]
        apart = "   "
        fixed = sum(len(f"{n} : {words}") for n, _, words in there) + len(apart) * (len(there) - 1)
        room = (width - fixed) // len(there) if there else 0
        names = [f" {_short(title, room - 1)}" if room > LEAST_NAME else "" for _, title, _ in there]
        return apart.join(f"{n}{name}: {words}" for (n, _, words), name in zip(there, names, strict=True))


def _short(title: str, room: int) -> str:
    """``title``, or what stands before its vessel and the like, or of a long word its begin."""
    if len(title) <= room:
        return title
    first = re.split(r", | in ", title)[0]
    return first if len(first) <= room else first[:room].rstrip()
