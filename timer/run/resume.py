"""After a break: what light the paper had, as the notebook and the keeper's memory tell it together, and the rest."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from timer.craft.lamp_response import LampResponse, full_light
from timer.errors import LamphouseError
from timer.keeper.host.client import open_keeper
from timer.keeper.local.memory import Remembered, boot_name, memory_file, recall
from timer.keeper.local.process import Config
from timer.keeper.local.rules import ALIVE_NS
from timer.keeper.wire.messages import TallyIs
from timer.notebook.store import ExposureRow, Notebook, RunRow
from timer.plan import Plan, rest_of

Recollect = Callable[[int], Remembered | None]
SLACK_NS = 50_000_000
"""How long the end of a killed process may take, on a busy machine; until then its lamp is lit."""


@dataclass(frozen=True)
class Had:
    """Full-light seconds that one step of a plan has had: between ``low`` and ``high``; ``done``: it ran to its end."""

    step: int
    low: float
    high: float
    done: bool = False


def light_of(kept: Remembered | None, lit_us: int, end_us: int, ordered_us: int) -> tuple[int, int]:
    """Lamp-on µs (least, most) of an exposure whose keeper was lost at ``end_us``, lit at ``lit_us`` if the host heard.

    The keeper's own stamp of the on-edge wins; where only the start of the attempt is stamped, the edge may not have
    come at all.
    """
    on_us = lit_us
    if kept and kept.off_ns:
        given = min(kept.lamp_us(kept.off_ns - kept.on_ns), ordered_us)
        return given, given
    if kept:
        on_us = kept.lamp_us(kept.on_ns or kept.begun_ns)
    # A process killed just before its off-edge holds the lamp for the milliseconds that its end takes.
    most = max(0, min(end_us - on_us, ordered_us + SLACK_NS // 1000))
    return (0 if kept and not kept.on_ns else most), most


def reconcile(notebook: Notebook, run: RunRow, recollect: Recollect) -> list[Had]:
    """Close every exposure of ``run`` that has no end, from the keeper's memory; say what each step has had.

    A step that was never begun is not in the list. Writes the facts it finds to the notebook.
    """
    response = LampResponse(run.delay_s, run.rise_s)
    had: dict[int, Had] = {}
    for row in notebook.exposures(run.id):
        if row.why is None or row.low_us is None or row.high_us is None:
            least, most, why = _found(row, recollect(notebook.keeper_number(run.id, row.number)))
            notebook.fact(run.id, row.number, least, most, why)
        else:
            least, most, why = row.low_us, row.high_us, row.why
        had_low = full_light(least / 1e6, response) if row.dose_s is None else row.dose_s
        had_high = full_light(most / 1e6, response) if row.dose_s is None else row.dose_s
        before = had.get(row.step, Had(row.step, 0.0, 0.0))
        had[row.step] = Had(
            row.step,
            before.low + had_low,
            before.high + had_high,
            why == "complete",
        )
    return [had[step] for step in sorted(had)]


def _found(row: ExposureRow, kept: Remembered | None) -> tuple[int, int, str]:
    """Least and most lamp-on µs, and why it ended, of an exposure the notebook has no end for."""
    same_boot = row.boot == boot_name()
    if kept is None:
        if same_boot and not row.lit:
            return 0, 0, "never_begun"
        return row.seen_us, row.ordered_us, "power_lost"
    if kept.why is not None:
        given = kept.lamp_us(kept.off_ns - kept.on_ns)
        return given, given, ("complete" if kept.why == 0 else "broken_off")
    alive = max(row.seen_us, kept.lamp_us(kept.alive_ns - kept.on_ns) if kept.on_ns else 0)
    if not (same_boot and kept.boot == row.boot):
        return min(alive, row.ordered_us), row.ordered_us, "power_lost"
    last = kept.alive_ns or kept.begun_ns
    most = kept.lamp_us(last + ALIVE_NS + SLACK_NS - (kept.on_ns or kept.begun_ns))
    return min(alive, row.ordered_us), min(most, row.ordered_us + SLACK_NS // 1000), "both_lost"


def rest(notebook: Notebook, run: RunRow, recollect: Recollect, *, share: float | None = None) -> tuple[Plan, list[Had]]:
    """The plan of what ``run`` still lacks, and what its steps have had.

    Where that is a range, ``share`` says where in it to take the truth (0 the least, 1 the most); without it the
    middle is taken if that can be wrong by no more than a twelfth of a stop, else LamphouseError says what to do.
    """
    had = reconcile(notebook, run, recollect)
    given = {}
    for h in had:
        asked = run.plan.steps[h.step].seconds
        if share is None and (h.high - h.low) / 2 > asked * (2 ** (1 / 12) - 1):
            raise LamphouseError(
                f"run {run.id}: {run.plan.steps[h.step].area} had between {h.low:.2f} and {h.high:.2f} s of "
                f"{asked:.2f} s, too wide to guess; say --assume least, middle or most"
            )
        # One that ran to its end is done, whatever its last microseconds were.
        given[h.step] = asked if h.done else h.low + (0.5 if share is None else share) * (h.high - h.low)
    return rest_of(run.plan, given), had


@contextmanager
def recollection(config: Config) -> Iterator[Recollect]:
    """How to ask what the keeper of ``config`` remembers: a local one's file, or the controller itself."""
    if config.lamp != "controller":
        yield recall(memory_file(config.state_dir)).get
        return
    with open_keeper(config, lambda event: None) as keeper:
        yield lambda exposure: _told(keeper.tally(exposure))


def _told(tally: TallyIs) -> Remembered | None:
    """A controller's tally as the local keeper's file would have it."""
    if not tally.known or not tally.off_us:
        return None
    on, off = tally.on_us * 1000, tally.off_us * 1000
    return Remembered(tally.exposure, tally.ordered_us, on, on, off, off, tally.why, boot_name(), 1000)
