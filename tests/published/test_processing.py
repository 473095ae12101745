"""Drains, as courses print them."""

from pathlib import Path

from tests.published.source import published
from timer.craft import processing
from timer.documents.bath_process import baths, process_named


@published("US Army", "Subcourse SS0514", "SS05140049, armycommunications.tpub.com")
def test_colour_drains_in_the_last_ten_seconds_of_a_step() -> None:
    by_kind = {call.kind: call.at for call in processing.calls(processing.Bath("developer", 60), "inside", "drum")}
    assert (by_kind["drain"], by_kind["over"]) == (50, 60)


@published("US Army", "Subcourse SS0509", "SS05090045, armycommunications.tpub.com")
def test_prints_drain_by_one_corner_for_fifteen_seconds() -> None:
    # stop bath 1 min, then 15 s between baths
    row = processing.calls(processing.Bath("stop", 60, drain_s=15), "outside", "tray")
    assert [(call.at, call.say) for call in row if call.kind == "drain"] == [(60, "lift, drain by one corner")]
    assert row[-1].at == 75


@published("US Army", "Subcourse SS0509", "SS05090045, armycommunications.tpub.com")
def test_fibre_paper_stops_for_a_minute_and_resin_coated_for_less(tmp_path: Path) -> None:
    # the course: 1 min. Resin-coated paper: half of it, by common practice
    seconds = {base: _seconds(f"bw-{base}-tray", "stop", tmp_path) for base in ("fibre", "rc")}
    assert seconds == {"fibre": 60, "rc": 30}


@published("Hicks and Schultz", "Paper grades", "rogerandfrances.com/paper-grades")
def test_paper_is_developed_to_completion_in_two_to_three_minutes(tmp_path: Path) -> None:
    assert 120 <= _seconds("bw-fibre-tray", "developer", tmp_path) <= 180


def _seconds(process: str, bath: str, own: Path) -> float:
    return next(each.seconds for each in baths(process_named(process, own), {}) if each.name == bath)
