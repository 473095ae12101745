"""What each column of the notebook holds: read so that an odd value never stops a reader, and judged by ``check``.

SQLite keeps what it is given: after a fault of the card, or from another program, any column may hold anything.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from timer.notebook import old_words
from timer.text import plain, unfit

MAX_TEXT = 262_144
"""Letters of the longest text there can be, a recipe."""

# ── read: what was there, or the nearest thing to it that can be shown ───────


def text(value: Any) -> str:
    """Plain text, with its lines; of a number its digits, of bytes what can be read of them; the beginning of too much."""
    if isinstance(value, bytes):
        value = value[:MAX_TEXT].decode(errors="replace")
    return "" if value is None else plain(str(value)[:MAX_TEXT])


def line(value: Any) -> str:
    """``text`` on one line."""
    return " ".join(text(value).split("\n")).replace("\t", " ")


def moment(value: Any) -> datetime | None:
    """A time with its zone, or None for anything else: only those can be compared with the clock."""
    try:
        read = datetime.fromisoformat(value)
    except (TypeError, ValueError):
        return None
    return read if read.tzinfo else None


# ── judged: what is wrong with a value, in words; empty when nothing is ──────


@dataclass(frozen=True)
class Column:
    """``judge`` says what is wrong with a value. Text can be read whatever it holds, with its ``lines`` or on one.

    ``instead``: what is read where a number cannot be.
    """

    judge: Callable[[Any], str]
    is_text: bool = False
    lines: bool = False
    instead: int | None = 0

    def or_none(self) -> "Column":
        """The same column where nothing (NULL) may stand as well, and what cannot be read is None."""
        return replace(self, judge=lambda value: "" if value is None else self.judge(value), instead=None)

    def read(self, value: Any) -> Any:
        """``value``, fit to be used and shown."""
        if self.is_text:
            return None if value is None and self.instead is None else (text if self.lines else line)(value)
        return self.instead if self.judge(value) else value


def _text(most: int, *, lines: bool = False) -> Column:
    def judge(value: Any) -> str:
        if not isinstance(value, str):
            return "is not text"
        if len(value) > most:
            return f"is longer than {most} letters"
        found = unfit(value.replace("\r\n", "\n"), lines=True)
        return f"has {found}" if found else ""

    return Column(judge, is_text=True, lines=lines)


def _one_of(*words: str) -> Column:
    says = f"is not one of {', '.join(word for word in words if word)}"
    return Column(lambda value: "" if isinstance(value, str) and value in words else says, is_text=True)


def _number(low: float, high: float) -> Column:
    says = f"is not a number from {low:g} to {high:g}"
    return Column(lambda value: "" if isinstance(value, int | float) and low <= value <= high else says)


def _whole(low: int, high: int) -> Column:
    says = f"is not a whole number from {low} to {high}"
    return Column(lambda value: "" if isinstance(value, int) and low <= value <= high else says)


STATES = ("running", "finished", "stopped", "failed", "continued", "forgotten")
_BIG = 2**62
_WORD = re.compile(r"[a-z_]{1,40}", re.ASCII)
_A_WORD = Column(
    lambda value: "" if isinstance(value, str) and _WORD.fullmatch(value) else "is no word of ours", is_text=True
)
_DATE = Column(lambda value: "" if moment(value) else "is not a time with its zone", is_text=True)
_BOOT = Column(lambda value: "" if isinstance(value, bytes) and len(value) == 16 else "is not 16 bytes")
_KIND = _one_of("strip", "print", "rest")
_PAPER = _one_of("", "bw", "ra4", "pan", *old_words.PAPERS)
_ID = _whole(1, _BIG)
_NAME = _whole(-2 * _BIG, 2 * _BIG - 1)
_MICROSECONDS = _whole(0, 36_000_000_000)
_DENSITY = _number(-1, 6).or_none()
_LINE = _text(4000)

TABLES: dict[str, dict[str, Column]] = {
    "book": {"name": _ID},
    "run": {
        "id": _ID,
        "begun": _DATE,
        "ended": _DATE.or_none(),
        "state": _one_of(*STATES),
        "says": _LINE,
        "kind": _KIND,
        "title": _LINE,
        "recipe": _text(MAX_TEXT, lines=True),
        "lamp": _LINE,
        "delay_s": _number(-0.999, 9.999),  # as a lamp's response has them
        "rise_s": _number(0, 9.999),
        "continues": _ID.or_none(),
        "paper": _PAPER,
        "covered": _DATE.or_none(),
        "lamp_at": _LINE,
        "less_s": _number(-10, 10),
        "recovery_s": _number(0, 36_000),
    },
    "exposure": {
        "run": _ID,
        "number": _whole(0, 1_000_000),
        "step": _whole(0, 1000),
        "label": _LINE,
        "asked_s": _number(0, 36_000),
        "ordered_us": _MICROSECONDS,
        "noted": _DATE,
        "boot": _BOOT,
        "lit": _whole(0, 1),
        "seen_us": _MICROSECONDS,
        "low_us": _MICROSECONDS.or_none(),
        "high_us": _MICROSECONDS.or_none(),
        "why": _A_WORD.or_none(),
        "dose_s": _number(0, 36_000).or_none(),
        "name": _NAME.or_none(),
        "noted_ns": _NAME.or_none(),
        "cut_us": _NAME,
    },
    "sheet": {
        "run": _ID,
        "begun": _DATE,
        "kind": _KIND,
        "title": _LINE,
        "negative": _LINE,
        "paper": _LINE,
        "box": _LINE,
        "batch": _LINE,
        "process": _LINE,
        "head": _LINE,
        "notes": _text(65_536, lines=True),
        "rating": _whole(1, 5).or_none(),
        "area": _number(0, 1000),
        "cost": _number(0, 1e6).or_none(),
        "words": _text(200_000),
        "unread": _whole(0, 1),
        "made_for": _text(MAX_TEXT, lines=True),
    },
    "chemistry": {
        "id": _ID,
        "name": _LINE,
        "mixed": _DATE,
        "ml": _number(0, 50_000),
        "capacity": _number(0, 10_000).or_none(),
        "used": _number(0, 1e6),
        "ended": _DATE.or_none(),
    },
    "reading": {
        "run": _ID,
        "sample": _LINE,
        "red": _DENSITY,
        "green": _DENSITY,
        "blue": _DENSITY,
        "visual": _DENSITY,
        "taken": _DATE,
        "kind": _one_of("", "colorimeter", "scan", "eye"),
        "error": _number(0.001, 6).or_none(),
    },
    "paper_out": {
        "id": _ID,
        "kind": _PAPER,
        "since": _DATE,
        "run": _ID.or_none(),
        "covered": _DATE.or_none(),
    },
}
"""Every column but a run's plan, its hash and its sums, which are judged as a whole."""


def read(table: str, row: dict[str, Any]) -> dict[str, Any]:
    """A row of ``table`` as far as it can be used: text plain, and where a number cannot be, none or 0."""
    return {name: TABLES[table][name].read(value) for name, value in row.items() if name in TABLES[table]}


def odd(table: str, row: dict[str, Any]) -> str:
    """What cannot be in a row of ``table``, in words. With text nothing is odd: it is made fit to be shown."""
    for name, value in row.items():
        column = TABLES[table].get(name)
        if column and not column.is_text and (says := column.judge(value)):
            return f"its {name} {says}"
    return ""
