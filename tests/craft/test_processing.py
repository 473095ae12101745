"""Baths, drains, volumes: our own choices and arithmetic on published sizes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft import processing


@given(st.floats(15, 600), st.sampled_from(["inside", "outside"]), st.sampled_from(["drum", "tray"]))
def test_calls_come_in_order_and_end_with_the_bath(seconds: float, drain: str, vessel: str) -> None:
    bath = processing.Bath("developer", seconds)
    row = processing.calls(bath, drain, vessel)  # type: ignore[arg-type]
    assert [c.at for c in row] == sorted(c.at for c in row)
    assert [c.kind for c in row if c.kind != "agitate"] == ["pour", "soon", "drain", "over"]
    assert row[-1].at == pytest.approx(processing.total_seconds(bath, drain))  # type: ignore[arg-type]


def test_temperature_table() -> None:
    table = [(20.0, 120.0), (24.0, 80.0), (30.0, 45.0)]
    assert [processing.time_at(table, t) for t, _ in table] == [120, 80, 45]
    assert processing.time_at(table, 22) == pytest.approx((120 * 80) ** 0.5)  # half-way in log time
    with pytest.raises(ValueError, match="outside"):
        processing.time_at(table, 35)
    with pytest.raises(ValueError, match="two different"):
        processing.time_at([(20, 60)], 20)


def test_mixing() -> None:
    assert processing.parts(500, "1+4") == [100, 400]
    assert processing.parts(1000, "1+1+8") == [100, 100, 800]
    for wrong in ("4", "1:4", "0+1", "a+b", ""):
        with pytest.raises(ValueError, match=r"1\+4"):
            processing.parts(500, wrong)


def test_a_drain_that_does_not_fit() -> None:
    with pytest.raises(ValueError, match="does not fit"):
        processing.calls(processing.Bath("stop", 10, drain_s=10), "inside", "drum")
