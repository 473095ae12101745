"""Drains, as courses print them."""

from tests.published.source import published
from timer.craft import processing


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
