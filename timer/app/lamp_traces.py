"""A lamp's response from a light sensor's recordings, CSV files of seconds and light."""

import csv
import io
import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from timer.craft import traces
from timer.craft.lamp_calibrate import INSTANT_S, response_from_doses, rise_range, with_recovery
from timer.craft.lamp_response import LampResponse
from timer.documents.files import read_text
from timer.errors import LamphouseError, Refused

TRACE_BYTES, TRACE_ROWS = 8 * 2**20, 500_000
"""The longest recording that is read: four minutes at 2000 readings a second; some 100 MB of memory."""
STEADY_S = 4.0
"""A shorter light does not become steady."""
GAINED = 0.01
"""Of a long light's time: what an LED, brightest cold, may give more than steady light."""
SPLIT_S, SUM_S, FINE_STEP_S = 0.010, 0.003, 0.002
"""How far delay and rise, and their sum, may be unsure before it is said; and how finely to record, then."""


@dataclass(frozen=True)
class Traced:
    """The ``response``; of each start after a short rest that was recorded the seconds of rest, and how many it lost less
    than a cold one; and what the recordings leave open, in words."""

    response: LampResponse
    starts: tuple[tuple[float, float], ...]
    notes: tuple[str, ...]


def from_traces(
    long_file: Path, long_on: float, short_file: Path, short_on: float, again_file: Path | None, again_on: float
) -> Traced:
    """From a long light, a short one, and several close together if there is such a recording; lamp-on seconds of each.

    Refused, in one sentence that names the file, for what cannot have been so.
    """
    if long_on < STEADY_S:
        raise Refused(f"a long light of {long_on:g} s does not become steady; give the lamp {STEADY_S:g} s or more")
    long, short = _trace_at(long_file), _trace_at(short_file)
    with _named(long_file):
        traces.check_length(long, long_on)
        full = traces.steady_light(long)
        lost = long_on - traces.dose_of(long, full)
        if lost < -GAINED * long_on:
            raise ValueError(
                f"the light gave {long_on - lost:.2f} s of its steady light in {long_on:g} s: is --on the time it was on? A "
                "lamp that is brighter at first than later is none that a time offset repairs"
            )
    with _named(short_file):
        traces.check_length(short, short_on)
        doses = lost, short_on, traces.dose_of(short, full)
        found = response_from_doses(*doses)
    starts: list[tuple[float, float]] = []
    if again_file:
        with _named(again_file):
            starts = traces.warm_starts(_trace_at(again_file), full, again_on, found)
            found = with_recovery(found, [rest for rest, _ in starts], [less for _, less in starts])
    doubts = traces.doubt_of(long, full), traces.doubt_of(short, full)
    notes = _unsure(found, doses, doubts, max(traces.step_of(long), traces.step_of(short)))
    return Traced(found, tuple(starts), notes)


@contextmanager
def _named(path: Path) -> Iterator[None]:
    """What the arithmetic refuses within, in one sentence that says of which file."""
    try:
        yield
    except ValueError as error:
        raise Refused(f"{path}: {error}") from None


def _unsure(
    found: LampResponse, doses: tuple[float, float, float], doubts: tuple[float, float], step: float
) -> tuple[str, ...]:
    """What the recordings leave open, with the figures: the sum by the doubt of the long one, its parts by both."""
    least, most = rise_range(*doses, sum(doubts))
    split = max(found.rise - least, most - found.rise)
    if found.lag <= INSTANT_S or (split <= SPLIT_S and doubts[0] <= SUM_S):
        return ()
    fewer = f", with readings {step * 1000:.3g} ms apart" if step > 1.5 * FINE_STEP_S else ""
    better = f"record every {FINE_STEP_S * 1000:g} ms" if fewer else f"measure a short light of {doses[1] / 2:.2g} s"
    return (
        f"The rise may be anything from {least * 1000:.0f} to {most * 1000:.0f} ms by these recordings{fewer}; delay and "
        f"rise together are known to {max(0.1, doubts[0] * 1000):.2g} ms. Lights of {doses[1]:g} s and more do not mind; "
        f"for shorter ones, {better}.",
    )


def _trace_at(path: Path) -> traces.Trace:
    """The recording in the CSV file at ``path``: seconds and light. LamphouseError for none, Refused as ``traces.read``."""
    with _named(path):
        return traces.read(*_columns(path))


def _columns(path: Path) -> tuple[list[float], list[float]]:
    times: list[float] = []
    values: list[float] = []
    rows = csv.reader(io.StringIO(read_text(path, TRACE_BYTES), newline=None))
    try:
        for row in rows:
            if not row or row[0].lstrip().startswith("#"):
                continue
            try:
                time, value = float(row[0]), float(row[1])
                if not (math.isfinite(time) and math.isfinite(value)):
                    raise ValueError
            except (ValueError, IndexError):
                if not times and rows.line_num <= 3:
                    continue  # a heading
                where = f"{path}, line {rows.line_num}"
                raise LamphouseError(f"{where}: wants two numbers, seconds and light, with a comma") from None
            if len(times) == TRACE_ROWS:
                raise LamphouseError(f"{path}: more than {TRACE_ROWS:,} readings; record less often, every 2 ms does")
            times.append(time)
            values.append(value)
    except csv.Error as error:
        raise LamphouseError(f"{path}: not a table of two columns: {error}") from None
    return times, values
