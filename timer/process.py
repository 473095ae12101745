"""A process: the baths of one kit in one vessel, as the printer has them from the leaflet (TOML, ``process = 1``)."""

from importlib.resources import files
from pathlib import Path
from typing import Annotated, Literal

from msgspec import Meta, Struct

from timer.craft.processing import AGITATE_S, Bath, calls, time_at
from timer.errors import LamphouseError
from timer.strict import decode_toml, read_text

Name = Annotated[str, Meta(min_length=1, max_length=40)]


class BathEntry(Struct, frozen=True, forbid_unknown_fields=True):
    """``seconds``, or a ``table`` of [celsius, seconds] rows to find them in. No ``drain_s``: 10 s inside, 15 s outside."""

    name: Name
    seconds: Annotated[float, Meta(gt=0, le=7200)] | None = None
    table: tuple[tuple[float, float], ...] = ()
    celsius: Annotated[float, Meta(ge=0, le=60)] | None = None
    drain_s: Annotated[float, Meta(ge=0, le=60)] | None = None
    light: bool = False


class Process(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """``drain`` says, once for all baths, whether draining is inside or outside of their times.

    ``in_vessel``: the name of the drum or tray of yours that it is done in (`lamphouse vessel`).
    """

    process: Literal[1]
    title: Name
    source: Annotated[str, Meta(min_length=1, max_length=400)]
    vessel: Literal["drum", "tray"]
    drain: Literal["inside", "outside"]
    bath: Annotated[tuple[BathEntry, ...], Meta(min_length=1, max_length=20)]
    ml_per_8x10: Annotated[float, Meta(gt=0, le=2000)] | None = None
    least_ml: Annotated[float, Meta(gt=0, le=20_000)] | None = None
    in_vessel: str = ""


def parse_process(text: str, where: str) -> Process:
    """A valid process; LamphouseError with one sentence and the path of the fault otherwise."""
    process = decode_toml(text, Process, where)
    for n, bath in enumerate(process.bath):
        if (bath.seconds is None) == (not bath.table):
            raise LamphouseError(f"{where}: bath[{n}]: give either seconds or a table of [celsius, seconds], one of the two")
        if any(seconds <= 0 for _, seconds in bath.table):
            raise LamphouseError(f"{where}: bath[{n}].table: every time is above 0 seconds")
    try:
        for made in baths(process, {}):
            calls(made, process.drain, process.vessel)
    except ValueError as error:
        raise LamphouseError(f"{where}: {error}") from None
    return process


def baths(process: Process, celsius: dict[str, float]) -> list[Bath]:
    """The baths with their times, those with a table at the temperature in ``celsius`` or at the first row's.

    ValueError for a temperature outside of its table.
    """
    out = []
    for entry in process.bath:
        at = celsius.get(entry.name, entry.celsius)
        if entry.table:
            at = min(t for t, _ in entry.table) if at is None else at
            seconds = time_at(entry.table, at)
        else:
            seconds = entry.seconds or AGITATE_S
        out.append(Bath(entry.name, seconds, at, entry.drain_s, entry.light))
    return out


def processes(own: Path) -> dict[str, Process]:
    """By name: the templates that ship, and the printer's own files in ``own``, which win."""
    found = {}
    for entry in sorted((files("timer") / "processes").iterdir(), key=lambda e: e.name):
        if entry.name.endswith(".toml"):
            found[entry.name.removesuffix(".toml")] = parse_process(entry.read_text(encoding="utf-8"), entry.name)
    for path in sorted(own.glob("*.toml")):
        found[path.stem] = parse_process(read_text(path), str(path))
    return found


def process_named(name: str, own: Path) -> Process:
    if name.endswith(".toml"):
        return parse_process(read_text(Path(name)), name)
    found = processes(own)
    if name not in found:
        raise LamphouseError(f"there is no process {name!r}; there are {', '.join(found)}, or name a .toml file")
    return found[name]
