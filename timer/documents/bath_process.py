"""A process: the baths of one kit in one vessel, as the printer has them from the leaflet (TOML, ``process = 1``)."""

from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Literal

from msgspec import Meta, Struct

from timer.craft.processing import AGITATE_S, Bath, calls, time_at
from timer.documents.files import read_text, toml_files
from timer.documents.toml_io import decode_toml
from timer.errors import LamphouseError

Name = Annotated[str, Meta(min_length=1, max_length=40)]
Seconds = Annotated[float, Meta(gt=0, le=7200)]
Celsius = Annotated[float, Meta(ge=0, le=60)]


class BathEntry(Struct, frozen=True, forbid_unknown_fields=True):
    """``seconds``, or a ``table`` of [celsius, seconds] rows to find them in. No ``drain_s``: 10 s inside, 15 s outside."""

    name: Name
    seconds: Seconds | None = None
    table: Annotated[tuple[tuple[Celsius, Seconds], ...], Meta(max_length=60)] = ()
    celsius: Celsius | None = None
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
            raise LamphouseError(
                f"{where}: bath {n + 1}: give either seconds or a table of [celsius, seconds], one of the two"
            )
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


@dataclass(frozen=True)
class Processes:
    """By name: the ``good`` ones, and of each ``broken`` file the sentence that says why."""

    good: dict[str, Process]
    broken: dict[str, str]


def processes(own: Path) -> Processes:
    """The templates that ship, and the printer's own files in ``own``, which win: a broken one hides its template too."""
    good = {}
    for entry in sorted((files("timer") / "documents" / "processes").iterdir(), key=lambda e: e.name):
        if entry.name.endswith(".toml"):
            good[entry.name.removesuffix(".toml")] = parse_process(entry.read_text(encoding="utf-8"), entry.name)
    broken = {}
    for path in toml_files(own):
        good.pop(path.stem, None)
        try:
            good[path.stem] = parse_process(read_text(path), str(path))
        except LamphouseError as error:
            broken[path.stem] = str(error)
    return Processes(good, broken)


def process_named(name: str, own: Path) -> Process:
    """The process called ``name``, or in the .toml file of that name. LamphouseError when there is none, or it is bad."""
    if name.endswith(".toml"):
        return parse_process(read_text(Path(name)), name)
    found = processes(own)
    if name in found.broken:
        raise LamphouseError(found.broken[name])
    if name not in found.good:
        raise LamphouseError(f"there is no process {name!r}; there are {', '.join(found.good)}, or name a .toml file")
    return found.good[name]
