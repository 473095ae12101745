"""The notebook's rows: a run, each exposure of it, a test to be read, a mixed bath, and paper that is out."""

import secrets
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import msgspec

from timer.craft.lamp_response import INSTANT, LampResponse
from timer.documents.recipe import PAPERS, Recipe
from timer.errors import LamphouseError, NotebookError
from timer.keeper.local.memory import boot_name
from timer.notebook import columns, old_words
from timer.plans.model import Plan
from timer.plans.stored import decode_plan

SAFELIGHT_KINDS = frozenset({"bw"})
"""Papers that a red safelight does not fog, after a test of it. Every other kind, and what is not known, wants the dark."""


@dataclass(frozen=True)
class RunRow:
    """A run as the notebook has it. ``damage``: what of it cannot be used, in words; its plan is empty then."""

    id: int
    begun: str
    ended: str | None
    state: str
    says: str
    kind: str
    title: str
    plan: Plan
    recipe: str
    lamp: str
    delay_s: float
    rise_s: float
    continues: int | None
    paper: str
    lamp_at: str = ""
    less_s: float = 0.0
    recovery_s: float = 0.0
    damage: str = ""

    @property
    def response(self) -> LampResponse:
        """The lamp's response that its times were made with; an instant lamp's where the notebook holds impossible
        values."""
        try:
            return LampResponse(self.delay_s, self.rise_s, self.less_s, self.recovery_s)
        except ValueError:
            return INSTANT

    @property
    def stands(self) -> str:
        """How it stands, in a reader's words."""
        words = {"running": "interrupted", "forgotten": "given up"}
        return "damaged" if self.damage else words.get(self.state, self.state)


@dataclass(frozen=True)
class ExposureRow:
    """One exposure: asked in full-light seconds, ordered (of a cold lamp) and given in µs of lamp-on time.

    Given is a range if nobody saw all of it; ``high_us`` None with a ``why``: nobody knows its upper end. ``why`` is None
    while nothing is known of its end at all. ``name`` is the keeper's for it. ``cut_us``: how much less a warm lamp had.
    """

    run: int
    number: int
    step: int
    label: str
    asked_s: float
    ordered_us: int
    boot: bytes
    lit: bool
    seen_us: int
    low_us: int | None
    high_us: int | None
    why: str | None
    dose_s: float | None = None
    name: int = 0
    noted_ns: int | None = None
    cut_us: int = 0


RUN_COLUMNS = (
    "id, begun, ended, state, says, kind, title, plan, recipe, lamp, delay_s, rise_s, continues, paper, "
    "lamp_at, less_s, recovery_s"
)
EXPOSURE_COLUMNS = (
    "run, number, step, label, asked_s, ordered_us, boot, lit, seen_us, low_us, high_us, why, dose_s, name, noted_ns, cut_us"
)


def new_name() -> int:
    """A name for an exposure that is never given twice, on any machine: 63 random bits, which SQLite can hold."""
    return secrets.randbits(63) or 1


def run_row(row: dict[str, Any]) -> RunRow:
    """A run for a list; a fault in it does not hide the others."""
    values, damage = columns.read("run", row), columns.odd("run", row)
    values |= {"paper": old_words.paper(values["paper"]), "recipe": old_words.recipe(values["recipe"])}
    try:
        plan = decode_plan(row["plan"])
        plan = replace(plan, paper=old_words.paper(plan.paper))
    except (msgspec.DecodeError, TypeError) as error:
        plan = Plan("strip", values["title"], ())
        damage = damage or f"its plan cannot be read ({columns.line(str(error))})"
    return RunRow(**values, plan=plan, damage=damage)


def exposure_row(row: dict[str, Any]) -> ExposureRow:
    """An exposure. NotebookError for an impossible value: light is never guessed."""
    values = columns.read("exposure", row)
    if damage := columns.odd("exposure", row):
        raise NotebookError(f"run {values['run']} is damaged, at exposure {values['number']}: {damage}")
    return ExposureRow(**values | {"lit": bool(values["lit"])})


def new_row(run: int, number: int, step: int, label: str, asked_s: float, ordered_us: int) -> ExposureRow:
    """An exposure of this moment, with a name of its own, of which nothing has happened yet."""
    return ExposureRow(
        run, number, step, label, asked_s, ordered_us, boot_name(), False, 0, None, None, None,
        name=new_name(), noted_ns=time.monotonic_ns(),
    )  # fmt: skip


@dataclass(frozen=True)
class Chemistry:
    """A mixed bath: ``capacity`` and ``used`` in sheets of 8x10; capacity None is not known."""

    id: int
    name: str
    mixed: str
    ml: float
    capacity: float | None
    used: float
    ended: str | None

    @property
    def warning(self) -> str:
        """Before it is exhausted: at nine tenths, and past its end."""
        if self.capacity is None:
            return ""
        if self.used >= self.capacity:
            return f"{self.name} is used up: {self.used:.2f} of {self.capacity:.2f} sheets of 8x10"
        if self.used >= 0.9 * self.capacity:
            return f"{self.name} is nearly exhausted: {self.capacity - self.used:.2f} sheets of 8x10 left"
        return ""


@dataclass(frozen=True)
class TestSheet:
    """A test as the notebook has it; ``made_for``: the recipe it was made for, as TOML, or empty."""

    __test__ = False  # for pytest: it is none of its own

    run: int
    begun: str
    title: str
    negative: str
    unread: bool
    made_for: str

    @property
    def recipe(self) -> Recipe | None:
        """What it was made for; None where that is not known, or is of an older Lamphouse and no recipe any more."""
        from timer.documents.recipe_file import parse_recipe  # for the start-up time: few rows are tests

        try:
            return parse_recipe(self.made_for) if self.made_for else None
        except LamphouseError:
            return None


@dataclass(frozen=True)
class PaperOut:
    """A box that was opened: for ``run``, once that is written. ``since`` is for the eye alone."""

    id: int
    kind: str
    since: str
    run: int | None

    def __str__(self) -> str:
        """Like "black-and-white paper, since 21:04, for sheet 12"."""
        since = f", since {self.clock}" if self.clock else ""
        return f"{PAPERS.get(self.kind, 'unknown')} paper{since}" + (f", for sheet {self.run}" if self.run else "")

    @property
    def clock(self) -> str:
        """Like "21:04"; nothing of a time that cannot be read."""
        since = columns.moment(self.since)
        return since.strftime("%H:%M") if since else ""


def bears_red(papers: Sequence[PaperOut]) -> bool:
    """Whether a red safelight is safe for all that is out."""
    return all(paper.kind in SAFELIGHT_KINDS for paper in papers)
