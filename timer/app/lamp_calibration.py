"""What a lamp's calibration is made of: a sheet of the notebook, or counts of a controller's light sensor."""

from dataclasses import dataclass, replace
from pathlib import Path

from timer.app.lamp import keeper_config, response
from timer.app.lamp_now import count_light
from timer.app.notebooks import existing
from timer.craft.lamp_response import LampResponse
from timer.documents.settings import calibrated, response_for
from timer.documents.settings_file import load_settings
from timer.errors import LamphouseError, Refused


@dataclass(frozen=True)
class Match:
    """``bursts`` of ``seconds`` each were as dark as one exposure of ``long_s``; full-light seconds."""

    bursts: int
    seconds: float
    long_s: float


def match_on_sheet(run: int, patch: float, notebook_path: Path | None, *, warm: bool) -> Match:
    """The match at ``patch`` of a calibration sheet in the notebook, ``warm`` or cold; 4.5 is between patches 4 and 5.

    Refused where ``run`` is no such sheet, or has no such patch.
    """
    with existing(notebook_path) as notebook:
        plan = notebook.run(run).plan
    bursts = [step.seconds for step in plan.steps if step.do == "expose" and step.area == "patch 1"]
    longs = [each.seconds for each in plan.patches[1:]]
    if len(bursts) < 2 or not plan.title.startswith("lamp calibration"):
        raise Refused(f"run {run} is no calibration sheet, but {plan.title!r}")
    if warm != plan.title.startswith("lamp calibration, warm"):
        raise Refused(
            f"run {run} was made cold, and --rest is for a sheet made with --warm: leave it away"
            if warm
            else f"run {run} was made with --warm: say --rest, the seconds of dark between its bursts"
        )
    if patch > len(longs) + 1:
        raise Refused(f"run {run} has patches 2 to {len(longs) + 1}, not {patch:g}")
    low = min(int(patch), len(longs)) - 2 if len(longs) > 1 else 0
    return Match(len(bursts), bursts[0], longs[low] + (patch - 2 - low) * (longs[low + 1] - longs[low]))


def cold_response(use: str = "") -> LampResponse:
    """The cold response that the settings have for ``use``; empty: graded paper. Refused where none was measured."""
    kept = response_for(load_settings(), use)
    if kept.lag <= 0:
        raise Refused("a warm start is measured on top of a cold one: make that sheet first, and keep its match")
    return LampResponse(kept.delay, kept.rise)


@dataclass(frozen=True)
class Counted:
    """``counts`` of a controller's light sensor in ``seconds`` of full light, as ``lamp`` was timed.

    ``calibrated``: the lamp's response was known, else what it loses at the start was counted as if it were light.
    """

    counts: int
    seconds: float
    lamp: LampResponse
    calibrated: bool


def count(seconds: float, port: str = "") -> Counted:
    """Light the controller's lamp, and count it; ``port``: its serial port, empty for as the settings have it.

    LamphouseError where the sensor saw too little, KeeperError and Refused as ``lamp_now.count_light``.
    """
    settings = load_settings()
    lamp = response(settings)
    config = replace(keeper_config(settings, lamp="controller"), port=port or settings.port)
    counts = count_light(config, seconds, lamp)
    if counts < 100 * seconds:
        raise LamphouseError("the light sensor saw too little; check that it is on A0 and sees the lamp")
    return Counted(counts, seconds, lamp, calibrated(settings))
