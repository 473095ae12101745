"""Lines of a run for the eye."""

from timer.cli.show import result_lines
from timer.notebook.rows import ExposureRow
from timer.run.session import Result
from timer.run.states import State


def _line(low_us: int | None, high_us: int | None, why: str | None, seen_us: int = 0) -> str:
    row = ExposureRow(1, 0, 1, "sky", 2.0, 2_000_000, bytes(16), True, seen_us, low_us, high_us, why)
    (_, line) = result_lines(Result(1, State.FAILED, "", (row,)))
    return " ".join(line.split())


def test_a_range_is_never_shown_as_the_point_in_its_middle() -> None:
    assert _line(1_000_000, 1_012_000, "keeper_lost") == "sky asked 2.000 s given 1.000 to 1.012 s the keeper was lost"


def test_an_open_range_is_shown_open() -> None:
    assert _line(1_000_000, None, "unseen") == "sky asked 2.000 s given 1.000 or more s its end was not seen"
    assert _line(None, None, None, seen_us=250_000) == "sky asked 2.000 s given 0.250 or more s `resume` finds out"


def test_a_value_is_shown_with_what_its_edges_missed() -> None:
    assert _line(2_000_003, 2_000_003, "complete") == "sky asked 2.000 s given 2.000 s +3 µs"
