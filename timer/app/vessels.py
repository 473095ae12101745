"""The printer's drums and trays, measured once: keeping them, what fits into them, and the solution that they take."""

from dataclasses import replace

from timer.craft.enlargement import parse_sheet
from timer.craft.vessels import USED_UP_ML, Filling, Fit, Vessel, check, filling, fit, unmeasured
from timer.documents.vessels import drop_vessel, keep_vessel, load_vessels, vessel_named
from timer.errors import Refused

KINDS = ("drum", "tray")


def keep(vessel: Vessel) -> None:
    """Keep ``vessel``, in the place of the one of its name. Refused for measures that cannot be, or the name of a kind."""
    try:
        if vessel.name in KINDS:
            raise ValueError("drum and tray are kinds of vessels; give yours a name of its own")
        check(vessel)
    except ValueError as error:
        raise Refused(str(error)) from None
    keep_vessel(vessel)


def forget(name: str) -> None:
    """Keep vessel ``name`` no longer. LamphouseError when none is kept of that name."""
    drop_vessel(name)


def kept() -> dict[str, Vessel]:
    """Those that are kept, by name. LamphouseError when their file is no good."""
    return load_vessels()


def kind_of(name: str) -> str:
    """``drum`` or ``tray``: what vessel ``name`` is, which may be one of the two words. LamphouseError when none is."""
    return name if name in KINDS else vessel_named(name, load_vessels()).kind


def fits(sheet: str) -> list[tuple[Vessel, Fit]]:
    """How sheets of a size like ``12x16in`` fit into each vessel. Refused for no size, or where no vessel is measured."""
    try:
        size = parse_sheet(sheet)
    except ValueError as error:
        raise Refused(str(error)) from None
    vessels = load_vessels()
    if not vessels:
        raise Refused("no vessel is measured yet: lamphouse vessel drum --help, lamphouse vessel tray --help")
    return [(vessel, fit(vessel, size)) for vessel in vessels.values()]


def solution(
    sheet: str, count: int, vessel: str | None, process: str | None, per_unit: float | None, least: float | None
) -> tuple[Vessel, Filling, str]:
    """The vessel, the ml for ``count`` sheets of a size like ``10x12in`` in it, and which way they lie.

    ``vessel``: one that is kept, or a kind; None: that of ``process``, whose ml are taken where they are not said.
    ``per_unit``: ml that a sheet of 8x10 uses up, None for a usual figure; ``least``: ml that wet it evenly, None for as
    calculated. Refused when it cannot be.
    """
    if process is not None:
        from timer.app.processes import process_called  # for the start-up time: few say one

        own = process_called(process)
        vessel = own.in_vessel or own.vessel
        per_unit = own.ml_per_8x10 if per_unit is None else per_unit
        least = own.least_ml if least is None else least
    try:
        size = parse_sheet(sheet)
        if vessel in KINDS:
            found = unmeasured("drum" if vessel == "drum" else "tray", size, count)
        else:
            found = vessel_named(vessel or "", load_vessels())
        if least is not None:
            found = replace(found, least=least)
        made = filling(found, size, count, per_unit=USED_UP_ML if per_unit is None else per_unit)
    except ValueError as error:
        raise Refused(str(error)) from None
    return found, made, fit(found, size).way
