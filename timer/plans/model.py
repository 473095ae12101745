"""The plan: frozen steps in full-light seconds, made from a strip or a recipe before any light.

A plan can be listed, totalled, hashed, stored and checked without a lamp; a run carries it out.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from timer.craft.dodge_burn import SMALLEST_S as SMALLEST_S
from timer.craft.stops import listed

Cue = Literal["warn", "change", "end"]


@dataclass(frozen=True)
class Mark:
    """A cue ``at`` full-light seconds into an exposure, and what the voice says."""

    at: float
    cue: Cue
    say: str = ""


@dataclass(frozen=True)
class Step:
    """``expose``: light of ``seconds`` on ``area``. ``wait``: dark, for the printer to do what ``say`` says. ``look``: that
    needs light to see by, so the paper goes into its box first, where there is something that can light up."""

    do: Literal["expose", "wait", "look"]
    say: str
    area: str = ""
    seconds: float = 0.0
    filters: str = ""
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True)
class PlanPatch:
    """A strip's patch as a plan lists it: stops from the time that was given, full-light seconds."""

    patch: int
    stops: float
    seconds: float
    filters: str = ""


@dataclass(frozen=True)
class Plan:
    """``kind`` is strip, print or rest (what an interrupted sheet still lacks)."""

    kind: Literal["strip", "print", "rest"]
    title: str
    steps: tuple[Step, ...]
    patches: tuple[PlanPatch, ...] = ()
    notes: tuple[str, ...] = ()
    paper: str = ""

    @property
    def tests_filters(self) -> bool:
        """Whether its patches differ in their filters: a ring-around, a ladder, a first sheet."""
        return len({patch.filters for patch in self.patches}) > 1

    @property
    def total_light_s(self) -> float:
        """Full-light seconds of all exposures together."""
        return sum(step.seconds for step in self.steps)

    @property
    def listed_total(self) -> str:
        """The same as a sum of what is ``listed``, so that it is what the rows add up to."""
        return str(sum((Decimal(listed(step.seconds)) for step in self.steps if step.do == "expose"), Decimal("0.00")))
