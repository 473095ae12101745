"""Verdicts, and the table a person reads."""

from tests.emulated.cases.every import CASES
from tests.emulated.cases.install import readme_lines
from tests.emulated.layers import PROJECT
from tests.emulated.models import MODELS
from tests.emulated.rig import Booked
from tests.emulated.table import Row, as_text, judge, judge_ms, summary


def test_verdicts() -> None:
    assert judge_ms("virt", "killed", "keeper", 249.0, 250).verdict == "holds"
    assert judge_ms("virt", "killed", "keeper", 251.0, 250).verdict == "FAILS"
    assert judge_ms("virt", "killed", "keeper", None, 250).figure == "never dark"
    rows = [judge("a", "c", "w", True, "x"), judge("a", "c", "w2", False, "y"), Row("a", "c", "w3", "told", "z")]
    assert summary(rows) == (1, 1)


def test_boards_stand_side_by_side() -> None:
    rows = [judge_ms("virt", "killed", "keeper", 12, 250), judge_ms("raspi3b", "killed", "keeper", 300, 250)]
    head, line = as_text(rows).strip().splitlines()
    assert head.split() == ["killed", "virt", "raspi3b", "bar"]
    assert "12 ms" in line and "FAILS: 300 ms" in line and line.endswith("250 ms")


def test_what_is_booked_holds_when_the_light_lies_in_it() -> None:
    assert Booked(1.0, 1.0, "complete").holds(1.02, 0.03) and not Booked(1.0, 1.0, "complete").holds(1.05, 0.03)
    assert Booked(0.5, None, "unseen").holds(9.0, 0.03) and not Booked(0.5, None, "unseen").holds(0.4, 0.03)
    assert not Booked(None, None, None).holds(0.0, 0.03)


def test_every_suite_has_both_boards_and_the_table_all_of_smoke() -> None:
    for suite in ("smoke", "table", "full"):
        mine = [case for case in CASES if suite in case.suites]
        assert {board for case in mine for board in case.boards} == set(MODELS)
    names = {suite: {case.name for case in CASES if suite in case.suites} for suite in ("smoke", "table", "full")}
    assert names["smoke"] <= names["table"] <= names["full"]


def test_the_readme_has_the_lines_that_are_tried() -> None:
    lines = readme_lines((PROJECT / "README.md").read_text())
    for what in ("pip install", "lamphouse doctor", "lamphouse strip"):
        assert any(what in line for line in lines), what
