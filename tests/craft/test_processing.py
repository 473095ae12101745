"""Baths, drains, volumes: our own choices and arithmetic on published sizes."""

from fractions import Fraction

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
    with pytest.raises(ValueError, match="outside of the table, which has 20 to 30"):
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
    with pytest.raises(ValueError, match=r"a drain of 12 s does not fit inside 10 s"):
        processing.calls(processing.Bath("stop", 10, drain_s=12), "inside", "drum")


def test_the_calls_of_a_drum_and_of_a_tray_by_hand() -> None:
    """Drains as the courses have them; a warning of 10 s and a call every 30 s are our own choice."""
    drum = processing.calls(processing.Bath("developer", 120), "inside", "drum")
    assert [(call.at, call.kind, call.say) for call in drum] == [
        (0, "pour", "developer: pour in, roll at once"),
        (30, "agitate", "keep rolling, level"), (60, "agitate", "keep rolling, level"), (90, "agitate", "keep rolling, level"),
        (100, "soon", "developer: drain soon"), (110, "drain", "drain"), (120, "over", "developer over"),
    ]  # fmt: skip
    tray = processing.calls(processing.Bath("fixer", 60), "outside", "tray")
    assert [(call.at, call.kind, call.say) for call in tray] == [
        (0, "pour", "fixer: slide it in, rock"), (30, "agitate", "keep rocking"), (50, "soon", "fixer: lift soon"),
        (60, "drain", "lift, drain by one corner"), (75, "over", "fixer over"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("seconds", "at"),
    [
        # halfway to the drain in a short bath; no call within 5 s of the warning
        (24, [0, 7, 14, 24]), (10.5, [0, 0.25, 0.5, 10.5]), (55, [0, 35, 45, 55]), (56, [0, 30, 36, 46, 56]),
        (84, [0, 30, 64, 74, 84]), (85, [0, 30, 65, 75, 85]), (86, [0, 30, 60, 66, 76, 86]), (110, [0, 30, 60, 90, 100, 110]),
    ],
)  # fmt: skip
def test_when_it_is_called(seconds: float, at: list[float]) -> None:
    assert [call.at for call in processing.calls(processing.Bath("stop", seconds), "inside", "drum")] == at


def test_a_drain_of_its_own() -> None:
    for drain_s, ends in ((None, (60, 75)), (0, (60, 60)), (4, (60, 64))):
        bath = processing.Bath("stop", 60, drain_s=drain_s)
        assert (processing.total_seconds(bath, "inside"), processing.total_seconds(bath, "outside")) == ends
    assert processing.Bath("stop", 60).light is False


def test_a_table_of_two_rows_and_its_ends() -> None:
    table = [(24.0, 80.0), (20.0, 120.0)]
    assert [processing.time_at(table, celsius) for celsius in (20, 24)] == pytest.approx([120, 80])
    assert processing.time_at(table, 21) == pytest.approx(120 * (80 / 120) ** 0.25)
    for celsius in (19.9, 24.1):
        with pytest.raises(ValueError, match="20 to 24"):
            processing.time_at(table, celsius)
    with pytest.raises(ValueError, match="two different"):
        processing.time_at([(float(text), 60) for text in ("20", "20", "24")], 22)


def test_how_much_can_be_mixed() -> None:
    assert processing.parts(0.5, "1+0.25") == [0.4, 0.1]
    assert processing.parts(99_999.5, "1+1") == [49_999.75, 49_999.75]
    assert processing.parts(1000.5, "1+999.5") == [1.0, 999.5]
    for ml, ratio in (
        (0, "1+4"),
        (-1, "1+4"),
        (100_000, "1+4"),
        (200_000, "1+4"),
        (500, "1+1000"),
        (500, "1+2000"),
        (500, "1+-4"),
        (500, "1+4+0"),
    ):
        with pytest.raises(ValueError, match="how a bath is mixed"):
            processing.parts(ml, ratio)


@pytest.mark.parametrize(
    ("ml", "ratio", "shown"),
    [
        (500, "1+4", ["100", "400"]),
        (40, "1+100", ["0.4", "39.6"]),  # 40/101 = 0.396
        (500, "1+1+1", ["167", "167", "166"]),  # 166.67 each
        (15, "1+1+8", ["1.5", "1.5", "12.0"]),
        (125, "1+9", ["12.5", "112.5"]),
        (10, "1+999", ["0.01", "9.99"]),
        (5, "1+999", ["0.005", "4.995"]),
        (100.5, "1+1", ["50.3", "50.2"]),  # 50.25 each
    ],
)
def test_parts_as_they_are_measured(ml: float, ratio: str, shown: list[str]) -> None:
    assert processing.parts_text(ml, ratio) == shown


@given(st.integers(1, 500_000).map(lambda tenths: tenths / 10), st.lists(st.integers(1, 200), min_size=2, max_size=4))
def test_parts_that_are_shown_add_up(ml: float, shares: list[int]) -> None:
    ratio = "+".join(map(str, shares))
    shown = processing.parts_text(ml, ratio)
    decimals = len(shown[0].partition(".")[2])
    assert sum(map(Fraction, shown)) == Fraction(str(ml))
    for text, exact in zip(shown, processing.parts(ml, ratio), strict=True):
        assert float(text) == pytest.approx(exact, abs=1 / 10**decimals)
        assert float(text) == pytest.approx(exact, rel=0.1)
