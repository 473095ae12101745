"""Keys to presses: a key counts when a finger or a foot has pressed it, not while it is held; then its page is told."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from math import inf
from typing import Protocol

from timer.run import presses
from timer.run.presses import NEXT_REPEAT_S, Means, Presses, Taps


class TakesKeys(Protocol):
    """A page, as far as keys need it."""

    def call_later(self, callback: Callable[[], None]) -> object:
        """As a widget's: once what has come before is done."""

    def counts(self, key: str, *, sure: bool) -> None:
        """``key`` was pressed, and is not just held; ``sure``: it cannot be a repeat."""

    def held(self) -> None:
        """The pedal was held."""


REPEATABLE = frozenset({"up", "down", "left", "right", "backspace", "pageup", "pagedown", "home", "end"})
"""Keys that choose: held, they go on choosing, and it does no harm."""
GUARDED = frozenset({"c", "d", "f", "q", "escape", "u", "x", "y"})
"""Keys that count after a rest alone, as Enter and the pedal's: light or dark hangs on them (c, d, f), or they leave (q,
Esc), take back (u), take away (x) or give up (y). A page has more of its own (``Page.guarded``); all others act at once."""
_LIGHT = frozenset({"c", "d", "f"})
LATE_S = 0.05
"""Seconds: a timer later than this means that the program was held up, and keys may not have been read yet."""
_PRESS = "press"


class Keys:
    """``pedal`` is the key that a footswitch types, if it is a keyboard's; "" for none."""

    def __init__(self, pedal: str, hold_s: float) -> None:
        self._pedal, self._hold_s = pedal, hold_s
        self._read: dict[str, Presses] = {}
        self._taps: dict[str, Taps] = {}
        self._opener = ""
        self._another = False
        self._pages: dict[str, TakesKeys] = {}

    def is_press(self, key: str) -> bool:
        """Whether it means the next thing: Enter, and the pedal's key."""
        return key in ("enter", self._pedal)

    def came(self, page: TakesKeys, key: str, at: float) -> None:
        """``key`` has come, for ``page``, at ``at`` of the monotonic clock: when it was read, not when we are told."""
        name = _PRESS if self.is_press(key) else key
        hold_s = self._hold_s if key == self._pedal else inf
        self._read[name], means = presses.came(self._read.get(name, Presses()), at, hold_s)
        if means is Means.HOLD:
            page.held()
        self._wait(name, page, key)

    def tapped(self, key: str, at: float) -> bool:
        """Whether ``key``, one that acts at once, does so now: not when it bounces, nor while it is held."""
        self._opener = key
        return self._tap(key, at) is Means.LIKELY

    def ends_line(self, at: float) -> bool:
        """Whether Enter, while a line is typed, ends it at once: another key came since the last, so it is no repeat."""
        if self._another:
            self._another = False
            now = presses.came(self._read.get(_PRESS, Presses()), at)[0]
            self._read[_PRESS] = replace(now, due=None, times=1)
            return True
        return False

    def settle(self, key: str) -> None:
        """``key`` is coming: another one that waits to be sure is not held any more. Those for light wait on."""
        self._another = self._another or not self.is_press(key)
        for name, read in list(self._read.items()):
            if read.due is not None and name not in {key, _PRESS, *_LIGHT}:
                self._read[name], means = presses.passed(read, read.due)
                self._pages[name].counts(name, sure=means is Means.PRESS)

    def typed(self, key: str, at: float) -> bool:
        """Whether ``key`` counts as typed into a line: always, but for the key that opened the line and is still held."""
        if key != self._opener:
            self._opener = ""
        means = self._tap(key, at)
        now = presses.came(self._read.get(key, Presses()), at)[0]
        self._read[key] = replace(now, due=None)  # it is done with; what comes on of it may be its repeat
        return not (self._opener and means is Means.HOLD)

    def _tap(self, key: str, at: float) -> Means:
        self._taps[key], means = presses.tapped(self._taps.get(key, Taps()), at)
        return means

    def stepped(self, page: TakesKeys, at: float) -> None:
        """The keeper's own footswitch was pressed."""
        self._read[_PRESS], means = presses.stepped(self._read.get(_PRESS, Presses()), at)
        if means is Means.PRESS:
            page.counts("enter", sure=True)

    def spend(self) -> None:
        """The press that has just counted has started the light: it must not end it by being long."""
        self._read[_PRESS] = presses.spent(self._read.get(_PRESS, Presses()))

    @property
    def settled(self) -> bool:
        """Whether nothing is in question any more."""
        return all(read.due is None for read in self._read.values())

    def forget(self) -> None:
        """As after a long rest."""
        self._read.clear()
        self._taps.clear()

    def _wait(self, name: str, page: TakesKeys, key: str) -> None:
        due, self._pages[name] = self._read[name].due, page
        if due is not None:
            over = partial(self._over, name, page, key, due)
            # Through the page's own queue: keys that have come before are read before.
            asyncio.get_running_loop().call_later(max(0.0, due - time.monotonic()), page.call_later, over)

    def _over(self, name: str, page: TakesKeys, key: str, due: float) -> None:
        """No more repeats came in time, so the key is not held."""
        read = self._read.get(name, Presses())
        if read.due != due:
            return
        now = time.monotonic()
        if now - due > LATE_S:
            self._read[name] = replace(read, due=now + NEXT_REPEAT_S)
            self._wait(name, page, key)
            return
        self._read[name], means = presses.passed(read, max(now, due))
        if means is not Means.NOTHING:
            page.counts(key, sure=means is Means.PRESS)
