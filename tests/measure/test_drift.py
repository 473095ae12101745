"""The control patch from the notebook: which sheets are its sessions, against what aim; its picture."""

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from tests.measure.test_learned import MINE, a_print, made
from timer.craft.control import ACT
from timer.documents.reading import Reading
from timer.errors import Refused
from timer.measure.drift import drift
from timer.measure.drift_plot import HIGH, WIDE, drift_plot
from timer.notebook.readings import take_readings
from timer.notebook.store import Notebook
from timer.plans.print import print_plan


@pytest.fixture
def notebook(tmp_path: Path) -> Iterator[Notebook]:
    with Notebook(tmp_path / "notebook.db") as opened:
        yield opened


def session(
    notebook: Notebook,
    red: float,
    green: float = 0.74,
    blue: float = 0.72,
    base: float = 10,
    kind: str = "",
    name: str = "control",
) -> int:
    recipe = a_print(base=base)
    run = made(notebook, print_plan(recipe), recipe, negative=name)
    take_readings(notebook, run, [Reading("grey", red, green, blue, None, kind)])  # type: ignore[arg-type]
    return run


def test_sessions_stand_against_the_mean_of_the_first(notebook: Notebook) -> None:
    for red in (0.75, 0.76, 0.77, 0.79, 0.83):
        session(notebook, red)
    found = drift(notebook, "Control", MINE)
    assert found.aim == pytest.approx((0.76, 0.74, 0.72)) and not found.aim_said
    assert [each.run for each in found.sessions] == [1, 2, 3, 4, 5]
    assert [each.verdict.state for each in found.sessions] == ["in limits"] * 4 + ["watch"]
    assert found.trends == ("red rising",) and found.left_out == ()
    assert (found.setting, found.seconds) == ("60M 50Y", pytest.approx(10))


def test_an_aim_may_be_said_and_a_first_sheet(notebook: Notebook) -> None:
    for red in (0.5, 0.5, 0.76, 0.88):
        session(notebook, red)
    found = drift(notebook, "control", MINE, (0.76, 0.74, 0.72), since=3)
    assert found.aim_said and [each.verdict.state for each in found.sessions] == ["in limits", "act"]


def test_other_settings_instruments_and_negatives_are_left_out(notebook: Notebook) -> None:
    for _ in range(3):
        session(notebook, 0.76)
    other = [session(notebook, 0.9, base=11), session(notebook, 0.7, kind="scan")]
    session(notebook, 0.2, name="quay")
    near = session(notebook, 0.78, base=10.05)
    found = drift(notebook, "control", MINE)
    assert [each.run for each in found.sessions] == [1, 2, 3, near] and found.left_out == tuple(other)


def test_looks_aims_and_second_greys_are_no_sessions_and_several_readings_are_their_mean(notebook: Notebook) -> None:
    run = session(notebook, 0.70)
    more = [Reading("grey 2", 0.80, 0.74, 0.72, None), Reading("aim", 2, 2, 2, None)]
    take_readings(notebook, run, [*more, Reading("grey dark", 1, 1, 1, None), Reading("by eye", 0, 0, 0, None, "eye")])
    (only,) = drift(notebook, "control", MINE).sessions
    assert only.density == pytest.approx((0.75, 0.74, 0.72))


def test_without_a_sheet_it_says_what_to_do(notebook: Notebook) -> None:
    session(notebook, 0.7, name="quay")
    with pytest.raises(Refused, match="no sheet of a negative called 'control' has readings: print it at one setting"):
        drift(notebook, "control", MINE)
    broken = session(notebook, 0.7)
    with notebook.commit():
        notebook.write("UPDATE run SET state = 'stopped' WHERE id = ?", (broken,))
    with pytest.raises(Refused):
        drift(notebook, "control", MINE)


def test_the_picture_has_its_points_where_they_belong(notebook: Notebook) -> None:
    """One session on its aim, in three forms on the middle line; then red at the upper limit, above it."""
    session(notebook, 0.76)
    flat = Image.open(io.BytesIO(drift_plot(drift(notebook, "control", MINE, (0.76, 0.74, 0.72)))))
    assert flat.size == (WIDE, HIGH)
    high = Image.open(io.BytesIO(drift_plot(drift(notebook, "control", MINE, (0.76 - ACT, 0.74, 0.72)))))
    rows = []
    for image in (flat, high):
        data = image.convert("RGB").load()
        assert data
        plot = range(70, HIGH - 120)
        rows.append([y for y in plot for x in range(200, WIDE - 200) if data[x, y] == (160, 32, 32)])
    middle = [sum(found) / len(found) for found in rows]
    assert middle[0] == pytest.approx((70 + HIGH - 110) / 2, abs=3) and middle[1] < middle[0] - 100
