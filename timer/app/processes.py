"""Bath processes by name, templates and the printer's own: their times at a temperature, and their clock."""

from timer.app import baths as clocks
from timer.app.baths import Clock
from timer.craft.processing import Bath, calls
from timer.craft.stops import minutes
from timer.documents.bath_process import Process, baths, process_named, processes
from timer.documents.settings import folder
from timer.errors import LamphouseError


def process_names() -> tuple[list[str], list[str]]:
    """The processes there are, templates and the printer's own; and of files that cannot be used, a sentence each."""
    found = processes(folder("data") / "processes")
    return list(found.good), list(found.broken.values())


def process_times(name: str, celsius: float | None = None) -> str:
    """What ``celsius`` does to the times of process ``name``, in words; nothing where none is given.

    LamphouseError where there is no such process, or the temperature is outside of its table.
    """
    process = process_named(name, folder("data") / "processes")
    made = _baths_at(name, process, celsius)
    if celsius is None:
        return ""
    timed = [bath for bath, entry in zip(made, process.bath, strict=True) if entry.table]
    if not timed:
        return "this process has one time for each bath, and none for other temperatures: they stay as they are"
    return f"at {celsius:g} °C, by its table: {', '.join(f'{bath.name} {minutes(round(bath.seconds))}' for bath in timed)}"


def process_clock(name: str, now: float, *, hands_free: bool, celsius: float | None = None) -> Clock:
    """A clock for process ``name``, waiting for its first pour; ``celsius`` as ``process_times``."""
    process = process_named(name, folder("data") / "processes")
    made = tuple(_baths_at(name, process, celsius))
    return clocks.start(process.title, process.vessel, process.drain, made, now, hands_free=hands_free)


def _baths_at(name: str, process: Process, celsius: float | None) -> list[Bath]:
    """Its baths, at ``celsius`` where it has times for temperatures."""
    tables = [entry.name for entry in process.bath if entry.table]
    try:
        made = baths(process, {} if celsius is None else dict.fromkeys(tables, celsius))
        for bath in made:
            calls(bath, process.drain, process.vessel)  # a time that is shorter than its drain
    except ValueError as error:
        raise LamphouseError(f"{name}: {error}") from None
    return made
