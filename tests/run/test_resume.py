"""What light a broken-off sheet had, for every way it can break."""

from fractions import Fraction
from pathlib import Path

import pytest

from timer.errors import LamphouseError
from timer.keeper import messages as m
from timer.keeper.memory import Memory, Remembered, boot_name, recall
from timer.notebook.store import Notebook
from timer.plan import strip_plan
from timer.run.resume import Had, reconcile, rest

PLAN = strip_plan(8.0, Fraction(1, 3), 3, "cover")
S = 1_000_000_000


class Broken:
    """A notebook with one exposure begun and not ended, and a keeper's memory beside it."""

    def __init__(self, folder: Path) -> None:
        self.notebook = Notebook(folder / "n.db")
        self.path = folder / "memory"
        self.run = self.notebook.begin_run(PLAN)
        self.notebook.intend(self.run, 0, 1, "patches 1 to 3", 8.0, 8_000_000)
        self.name = self.notebook.keeper_number(self.run, 0)

    def recollect(self, exposure: int) -> Remembered | None:
        return recall(self.path).get(exposure)

    def had(self) -> list[Had]:
        return reconcile(self.notebook, self.notebook.run(self.run), self.recollect)

    def other_boot(self) -> None:
        """As if the machine had been off since."""
        self.notebook._db.execute("UPDATE exposure SET boot = ?", (b"another boot....",))


@pytest.fixture
def broken(tmp_path: Path) -> Broken:
    return Broken(tmp_path)


def test_the_keeper_outlived_the_app(broken: Broken) -> None:
    memory = Memory(broken.path)
    memory.begin(broken.name, 8_000_000, 10 * S, 1000)
    memory.lit(10 * S)
    memory.dark(13 * S, m.Why.LINK_CLOSED)
    assert broken.had() == [Had(1, 3.0, 3.0)]
    plan, _ = rest(broken.notebook, broken.notebook.run(broken.run), broken.recollect)
    assert plan.steps[1].seconds == pytest.approx(5.0)
    assert plan.total_light_s == pytest.approx(PLAN.total_light_s - 3.0)


def test_both_were_killed(broken: Broken) -> None:
    memory = Memory(broken.path)
    memory.begin(broken.name, 8_000_000, 10 * S, 1000)
    memory.lit(10 * S)
    memory.alive(12 * S)
    (had,) = broken.had()
    assert had.low == 2.0
    assert 2.01 <= had.high <= 2.1


def test_killed_between_intent_and_edge(broken: Broken) -> None:
    assert broken.had() == [Had(1, 0.0, 0.0)]
    # A keeper that starts now has never lit it: the whole of it is missing.
    assert not Memory(broken.path).knows(broken.name)
    plan, _ = rest(broken.notebook, broken.notebook.run(broken.run), broken.recollect)
    assert plan.total_light_s == pytest.approx(PLAN.total_light_s)


def test_killed_around_the_on_edge(broken: Broken) -> None:
    Memory(broken.path).begin(broken.name, 8_000_000, 10 * S, 1000)
    (had,) = broken.had()
    assert had.low == 0.0
    assert 0.0 < had.high <= 0.1


def test_the_power_went(broken: Broken) -> None:
    broken.notebook.progress(broken.run, 0, 3_000_000)
    broken.other_boot()
    assert broken.had() == [Had(1, 3.0, 8.0)]
    row = broken.notebook.run(broken.run)
    with pytest.raises(LamphouseError, match=r"between 3\.00 and 8\.00 s .* --assume"):
        rest(broken.notebook, row, broken.recollect)
    plan, _ = rest(broken.notebook, row, broken.recollect, share=0.0)
    assert plan.steps[1].seconds == pytest.approx(5.0)
    plan, _ = rest(broken.notebook, row, broken.recollect, share=0.5)
    assert plan.steps[1].seconds == pytest.approx(2.5)


def test_the_power_went_and_the_memory_of_that_boot_was_saved(broken: Broken) -> None:
    memory = Memory(broken.path)
    memory._boot = b"another boot...."
    memory.begin(broken.name, 8_000_000, 10 * S, 1000)
    memory.lit(10 * S)
    memory.alive(15 * S)
    broken.other_boot()
    assert broken.had() == [Had(1, 5.0, 8.0)]


def test_the_app_was_killed_after_the_light_and_before_the_fact(broken: Broken) -> None:
    memory = Memory(broken.path)
    memory.begin(broken.name, 8_000_000, 10 * S, 1000)
    memory.lit(10 * S)
    memory.dark(18 * S + 3000, m.Why.COMPLETE)
    assert broken.had() == [Had(1, 8.000003, 8.000003, done=True)]
    plan, _ = rest(broken.notebook, broken.notebook.run(broken.run), broken.recollect)
    assert [step.area for step in plan.steps if step.do == "expose"] == ["patches 2 to 3", "patch 3"]


def test_a_time_lapse_is_counted_in_its_own_seconds(broken: Broken) -> None:
    memory = Memory(broken.path)
    memory.begin(broken.name, 8_000_000, 10 * S, 20_000)
    memory.lit(10 * S)
    memory.dark(10 * S + S // 10, m.Why.LINK_CLOSED)
    assert broken.had() == [Had(1, 2.0, 2.0)]


def test_reconciling_twice_says_the_same(broken: Broken) -> None:
    memory = Memory(broken.path)
    memory.begin(broken.name, 8_000_000, 10 * S, 1000)
    memory.lit(10 * S)
    memory.alive(12 * S)
    assert broken.had() == broken.had()
    assert len(boot_name()) == 16
