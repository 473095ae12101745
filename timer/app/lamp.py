"""The lamp as the settings have it: the keeper's configuration, and the response for what a plan prints."""

import os
from pathlib import Path

from timer.craft.lamp_response import LampResponse
from timer.documents.folders import folder
from timer.documents.settings import Settings, UseResponse, in_seconds
from timer.errors import LamphouseError
from timer.keeper import off_mark
from timer.keeper.boards.open import OWN_LAMPS, lamps
from timer.keeper.config import Config
from timer.keeper.runtime import runtime_dir
from timer.plans.model import Plan


def keeper_config(settings: Settings, *, lamp: str | None = None, speed: float = 1.0) -> Config:
    """The local keeper's configuration; ``lamp`` overrides the settings, ``speed`` is the simulated time-lapse."""
    name = lamp or settings.lamp
    if name not in OWN_LAMPS and name not in lamps():
        where = "--lamp" if lamp else f"{folder('config') / 'settings.toml'}: lamp"
        raise LamphouseError(f"{where}: there is no lamp {name!r}; there are {', '.join(lamps())}")
    return Config(
        state_dir=str(folder("state")),
        asked_ns=off_mark.wish_ns(),
        lamp=name,
        ceiling_us=round(settings.ceiling_s * 1e6),
        hold_us=round(settings.hold_s * 1e6),
        speed_permille=round(speed * 1000),
        port=settings.port,
        counts_per_s=settings.counts_per_s,
        mains_half_cycle_us=round(500_000 / settings.mains_hz),
        lamp_pin=settings.pins.lamp,
        safelight_pin=settings.pins.safelight,
        footswitch_pin=settings.pins.footswitch,
        buzzer_pin=settings.pins.buzzer,
        buzzer_tonal=settings.pins.buzzer_is_tonal,
        chip=settings.pins.chip,
        wire=os.path.abspath(wire) if (wire := os.environ.get("LAMPHOUSE_WIRE", "")) else "",
        bulb="" if settings.simulated_bulb == "instant" else settings.simulated_bulb,
    )


def pedal_socket() -> Path:
    """Where a pedal without hardware is looked for, unless it is told another place."""
    return runtime_dir() / "pedal"


SOFT_GRADES, HARD_GRADES = ("00", "0", "1/2", "1"), ("4", "4 1/2", "5")


def response(settings: Settings, plan: Plan | None = None) -> LampResponse:
    """The lamp's response for the use that ``plan`` makes of it: colour, or its first contrast grade."""
    own = settings.lamp_response
    found: UseResponse = own
    if plan is not None:
        grade = next((step.filters.removeprefix("grade ") for step in plan.steps if step.do == "expose"), "")
        if plan.paper == "ra4":
            found = own.colour or own.green or own
        elif grade in SOFT_GRADES:
            found = own.soft or own
        elif grade in HARD_GRADES:
            found = own.hard or own
    return in_seconds(found)
