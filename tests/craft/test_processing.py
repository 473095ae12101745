"""Baths, drains, volumes: our own choices and arithmetic on published sizes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timer.craft import processing as p


def test_volumes_go_by_area() -> None:
    # 12x16 is 2.4 sheets of 8x10; 70 ml a sheet in a drum and 250 ml in a tray are starting points, from memory
    assert p.volume(2.4, 1, "drum").ml == 170
    assert p.volume(2.4, 1, "drum").area / p.volume(1.0, 1, "drum").area == pytest.approx(2.4)
    assert p.PER_UNIT_ML == {"drum": 70, "tray": 250}
    assert p.LEAST_ML == {"drum": 60, "tray": 500}


def test_the_drums_minimum_rules_for_small_pieces() -> None:
    small = p.volume(0.25, 1, "drum")
    assert small.ml == p.LEAST_ML["drum"]
    assert "to work" in small.why
    assert p.volume(1, 4, "tray", per_unit=100, least=50).ml == 400


@given(st.floats(0.1, 10), st.integers(1, 20), st.sampled_from(["drum", "tray"]))
def test_more_paper_never_needs_less(area: float, sheets: int, vessel: str) -> None:
    one, more = p.volume(area, sheets, vessel), p.volume(area, sheets + 1, vessel)  # type: ignore[arg-type]
    assert more.ml >= one.ml >= p.LEAST_ML[vessel]


@given(st.floats(15, 600), st.sampled_from(["inside", "outside"]), st.sampled_from(["drum", "tray"]))
def test_calls_come_in_order_and_end_with_the_bath(seconds: float, drain: str, vessel: str) -> None:
    bath = p.Bath("developer", seconds)
    row = p.calls(bath, drain, vessel)  # type: ignore[arg-type]
    assert [c.at for c in row] == sorted(c.at for c in row)
    assert [c.kind for c in row if c.kind != "agitate"] == ["pour", "soon", "drain", "over"]
    assert row[-1].at == pytest.approx(p.total_seconds(bath, drain))  # type: ignore[arg-type]


def test_temperature_table() -> None:
    table = [(20.0, 120.0), (24.0, 80.0), (30.0, 45.0)]
    assert [p.time_at(table, t) for t, _ in table] == [120, 80, 45]
    assert p.time_at(table, 22) == pytest.approx((120 * 80) ** 0.5)  # half-way in log time
    with pytest.raises(ValueError, match="outside"):
        p.time_at(table, 35)
    with pytest.raises(ValueError, match="two different"):
        p.time_at([(20, 60)], 20)


def test_mixing() -> None:
    assert p.parts(500, "1+4") == [100, 400]
    assert p.parts(1000, "1+1+8") == [100, 100, 800]
    for wrong in ("4", "1:4", "0+1", "a+b", ""):
        with pytest.raises(ValueError, match=r"1\+4"):
            p.parts(500, wrong)


def test_a_drain_that_does_not_fit() -> None:
    with pytest.raises(ValueError, match="does not fit"):
        p.calls(p.Bath("stop", 10, drain_s=10), "inside", "drum")
