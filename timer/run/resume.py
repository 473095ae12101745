"""After a break: what light the paper had, as the notebook and the keeper's memory tell it together, and what is missing."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path

from timer.errors import LamphouseError, Refused
from timer.keeper.config import Config
from timer.keeper.host.client import Keeper
from timer.keeper.host.open import open_keeper
from timer.keeper.local.memory import boot_name, recollect
from timer.notebook.light import LATE, UNSETTLED, Light, booked, full_seconds, range_text
from timer.notebook.rows import ExposureRow, RunRow
from timer.notebook.store import Notebook
from timer.plans.model import Plan
from timer.plans.remainder import rest_of, worth_giving
from timer.run import evidence

RecordLookup = Callable[[ExposureRow], Light]
CONTROLLER_REMEMBERS = 8
"""Exposures that a microcontroller remembers at least (docs/protocol.md, rule 11)."""
TWELFTH = 2 ** (1 / 12) - 1


@dataclass(frozen=True)
class LightGiven:
    """Full-light seconds that one step of a plan has had: between ``low`` and ``high`` (None: nobody knows how much).

    ``done``: it ran to its end; ``late``: past it.
    """

    step: int
    low: float
    high: float | None
    done: bool = False
    late: bool = False

    def text(self, digits: int = 2) -> str:
        """Like "1.20" or "1.10 to 1.30" or "1.10 or more"."""
        return range_text(self.low, self.high, digits)


def reconcile(notebook: Notebook, run: RunRow, look_up: RecordLookup) -> list[LightGiven]:
    """Settle every exposure of ``run`` that has no end, or one that may be told better; say what each step has had.

    A step that was never begun is not in the list. Writes the facts it finds to the notebook.
    """
    response = run.response
    had: dict[int, LightGiven] = {}
    for row in notebook.exposures(run.id):
        light = booked(row)
        if light is None or light.why in UNSETTLED:
            light = look_up(row)
            notebook.fact(run.id, row.number, light.low_us, light.high_us, light.why, row.dose_s, light.cut_us)
        before = had.get(row.step, LightGiven(row.step, 0.0, 0.0))
        low, high = full_seconds(light, response, row.dose_s)
        had[row.step] = LightGiven(
            row.step,
            before.low + low,
            None if before.high is None or high is None else before.high + high,
            light.done,
            before.late or light.why == LATE,
        )
    return [had[step] for step in sorted(had)]


def rest(
    notebook: Notebook, run: RunRow, look_up: RecordLookup, *, share: float | None = None
) -> tuple[Plan, list[LightGiven]]:
    """The plan of what ``run`` still lacks, and what its steps have had.

    Where that is a range, ``share`` says which point of it to count with (0 the least, 1 the most); without it the
    middle is taken if that can be wrong by no more than a twelfth of a stop, else LamphouseError says what to do.
    Where nothing is missing it says that: a run of which all light is known by now, and in full, is finished.
    """
    had = reconcile(notebook, run, look_up)
    given = {}
    for h in had:
        step = run.plan.steps[h.step]
        if h.done:
            given[h.step] = step.seconds  # whatever its last microseconds were
            continue
        if h.high is None:
            if share != 0:
                raise LamphouseError(
                    f"run {run.id}: {step.area} had {h.low:.2f} s of {step.seconds:.2f} s or more, nobody saw when its "
                    "light ended; if it ended at once say --assume least, else give this sheet up with --forget"
                )
            given[h.step] = h.low
            continue
        if share is None and (h.high - h.low) / 2 > step.seconds * TWELFTH:
            raise LamphouseError(
                f"run {run.id}: {step.area} had between {h.low:.2f} and {h.high:.2f} s of "
                f"{step.seconds:.2f} s, too wide to guess; say --assume least, middle or most"
            )
        given[h.step] = h.low + (0.5 if share is None else share) * (h.high - h.low)
    steps = enumerate(run.plan.steps)
    if not any(step.do == "expose" and worth_giving(step.seconds - given.get(n, 0.0)) for n, step in steps):
        raise LamphouseError(_nothing_missing(notebook, run, had))
    return rest_of(run.plan, given), had


def _nothing_missing(notebook: Notebook, run: RunRow, had: list[LightGiven]) -> str:
    """What to say of a run that lacks nothing; it is no unfinished sheet any more if that is certain."""
    late = next((h for h in had if h.late), None)
    if late:
        step = run.plan.steps[late.step]
        return (
            f"run {run.id} lacks nothing, but {step.area} had {late.text()} s of {step.seconds:.2f} s, too much light: "
            "give this sheet up with --forget"
        )
    if any(not h.done and h.low != h.high for h in had):
        return f"run {run.id} lacks nothing if that is so: give this sheet up with --forget"
    notebook.end_run(run.id, "finished", "finished: the end of its light was found later")
    return f"run {run.id} lacks nothing: every exposure was given in full, and it is finished now"


def same_lamp(run: RunRow, config: Config) -> None:
    """Refuse to finish on one lamp what was begun on another: the paper would not get the light that it lacks."""
    if run.lamp and run.lamp != config.lamp:
        raise Refused(
            f"run {run.id} was made on the lamp {run.lamp!r}; what is missing must come from there, not from {config.lamp!r}"
        )
    if run.lamp == "gpio" and run.lamp_at and Path(run.lamp_at).stem != config.lamp_key:
        was, now = Path(run.lamp_at).stem.removeprefix("gpio-"), config.lamp_key.removeprefix("gpio-")
        raise Refused(
            f"run {run.id} was made on GPIO pin {was} and the settings say {now}; set [pins] lamp = {was} to finish it"
        )


@contextmanager
def record_lookup(notebook: Notebook, run: RunRow, config: Config, running: Keeper | None = None) -> Iterator[RecordLookup]:
    """How to find out what became of an exposure of ``run``: by its local keeper's memory, or from the controller itself.

    ``running`` is a link to the controller that is open already.
    """
    if run.lamp != "controller":
        memory = recollect(Path(run.lamp_at)) if run.lamp_at else None
        yield lambda row: evidence.of_lost_local(memory, row.name, row)
        return
    opened = nullcontext(running) if running else open_keeper(config, lambda event: None)
    with opened as keeper:
        keeper.halt()
        up_us = keeper.now_us()

        def ask(row: ExposureRow) -> Light:
            since_us = (time.monotonic_ns() - row.noted_ns) // 1000 if row.noted_ns is not None else None
            up = row.boot == boot_name() and since_us is not None and since_us < up_us
            up = up and notebook.exposures_since(row) < CONTROLLER_REMEMBERS
            return evidence.of_record(keeper.record(row.name), row, up_since_noted=up)

        yield ask
