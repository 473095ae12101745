"""Bath processes by name, templates and the printer's own: their times at a temperature, and their clock."""

from pathlib import Path

from timer.app import baths as clocks
from timer.app.baths import Clock
from timer.craft.processing import Bath, Call, calls
from timer.craft.stops import minutes
from timer.documents.bath_process import Process, Processes, baths, process_named, processes
from timer.documents.folders import folder
from timer.errors import LamphouseError


def every_process() -> Processes:
    """The processes there are, templates and the printer's own; and of files that cannot be used, a sentence each."""
    return processes(_own())


def process_called(name: str) -> Process:
    """The process ``name``, or in the file of that name. LamphouseError when there is none, or it is bad."""
    return process_named(name, _own())


def process_at(name: str, celsius: float | None = None) -> tuple[Process, list[tuple[Bath, tuple[Call, ...]]]]:
    """Process ``name``, and each bath with its calls, at ``celsius`` where it has times for temperatures.

    LamphouseError where there is no such process, or the temperature is outside of its table.
    """
    process = process_called(name)
    tables = [entry.name for entry in process.bath if entry.table]
    try:
        made = baths(process, {} if celsius is None else dict.fromkeys(tables, celsius))
        return process, [(bath, calls(bath, process.drain, process.vessel)) for bath in made]
    except ValueError as error:
        raise LamphouseError(f"{name}: {error}") from None


def follows_temperature(name: str) -> bool:
    """Whether process ``name`` has a bath with times for temperatures. LamphouseError when there is no such process."""
    return any(entry.table for entry in process_called(name).bath)


def process_times(name: str, celsius: float | None = None) -> str:
    """What ``celsius`` does to the times of process ``name``, in words; nothing where none is given. As ``process_at``."""
    process, made = process_at(name, celsius)
    if celsius is None:
        return ""
    timed = [bath for (bath, _), entry in zip(made, process.bath, strict=True) if entry.table]
    if not timed:
        return "this process has one time for each bath, and none for other temperatures: they stay as they are"
    return f"at {celsius:g} °C, by its table: {', '.join(f'{bath.name} {minutes(round(bath.seconds))}' for bath in timed)}"


def process_clock(name: str, now: float, *, hands_free: bool, celsius: float | None = None) -> Clock:
    """A clock for process ``name``, waiting for its first pour; ``now`` in seconds. As ``process_at``."""
    process, made = process_at(name, celsius)
    only = tuple(bath for bath, _ in made)
    return clocks.start(process.title, process.vessel, process.drain, only, now, hands_free=hands_free)


def _own() -> Path:
    return folder("data") / "processes"
