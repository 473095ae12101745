"""What the notebook's own sheets teach: which of them count, for which head, paper and box; the right prints to begin from."""

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.tools.dark_paper import Darkroom
from timer.craft.filters import Pack
from timer.craft.lights import Lights
from timer.documents.reading import Reading
from timer.documents.recipe import Derived, Enlargement, Filters, Paper, Recipe
from timer.documents.recipe_file import recipe_toml
from timer.documents.settings import Head
from timer.errors import Refused
from timer.measure.advise import learned_from
from timer.measure.learned import MOST, Which, every, known, name_of, old_sheets, paper_known
from timer.measure.start import start, start_line
from timer.notebook.readings import take_readings
from timer.notebook.rows import new_row
from timer.notebook.sheets import FINAL, write_on
from timer.notebook.store import Notebook
from timer.plans.first_sheet import first_sheet_plan
from timer.plans.model import Plan
from timer.plans.print import print_plan

MINE = Head("dichroic")
FIRST = [(10.0, (0.0, 0.6, 0.5)), (10 / 2**0.5, (0.0, 0.6, 0.5)), (10 * 2**0.5, (0.0, 0.6, 0.5)),
         (10.0, (0.0, 0.8, 0.5)), (10.0, (0.0, 0.6, 0.7))]  # fmt: skip


@pytest.fixture
def notebook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Notebook]:
    monkeypatch.setenv("LAMPHOUSE_HOME", str(tmp_path))
    with Notebook(tmp_path / "notebook.db") as opened:
        yield opened


def made(
    notebook: Notebook, plan: Plan, recipe: Recipe | None = None, made_for: Recipe | None = None, **written: Any
) -> int:
    """A sheet with all its light, as planned."""
    run = notebook.begin_run(
        plan,
        recipe=recipe_toml(recipe) if recipe else "",
        made_for=recipe_toml(made_for) if made_for else "",
        lamp="simulated",
    )
    exposing = [(n, step) for n, step in enumerate(plan.steps) if step.do == "expose"]
    for number, (n, step) in enumerate(exposing):
        us = round(step.seconds * 1e6)
        notebook.intend(new_row(run, number, n, step.area, step.seconds, us))
        notebook.fact(run, number, us, us, "complete")
    notebook.end_run(run, "finished", "finished")
    if written:
        write_on(notebook, run, written)
    return run


def first_sheet(notebook: Notebook, seed: int = 1, kind: str = "", made_for: Recipe | None = None, **written: Any) -> int:
    run = made(notebook, first_sheet_plan(Pack(m=60, y=50), 10.0, "dichroic"), made_for=made_for, **written)
    room = Darkroom(random.Random(7))
    room.a = room._exposures_of(np.full(3, 0.8)) - 1 + room.head @ np.asarray(FIRST[0][1]) + 0.02 * seed
    rows = [(float(d[0]), float(d[1]), float(d[2])) for d in room.still(FIRST)]
    take_readings(notebook, run, [Reading(str(n), *d, None, kind) for n, d in enumerate(rows, 1)])  # type: ignore[arg-type]
    return run


def a_print(
    m: float = 60, y: float = 50, base: float = 10, head: str = "dichroic", title: str = "Quay", **more: object
) -> Recipe:
    return Recipe(
        recipe=1, title=title, base_s=base, paper=Paper("ra4", name="Lustre"), filters=Filters(m=m, y=y, head=head), **more  # type: ignore[arg-type]
    )  # fmt: skip


def old(notebook: Notebook, **more: object) -> list:  # type: ignore[type-arg]
    return old_sheets(notebook, MINE, "", {}, **more)  # type: ignore[arg-type]


# ── which sheets count ───────────────────────────────────────────────────────


def test_sheets_count_for_their_paper_and_box_and_less_for_others(notebook: Notebook) -> None:
    for seed, (paper, box) in enumerate((("Lustre", "1"), ("lustre", "2"), ("Gloss", ""), ("", ""))):
        first_sheet(notebook, seed, paper=paper, box=box)
    sheets = old(notebook)

    def counts(paper: str, box: str = "") -> tuple[int, int, int]:
        found = known(sheets, Which("dichroic", paper, box))
        assert found
        return found.sheets

    assert counts("Lustre", "1") == (1, 1, 2)
    assert counts("LUSTRE", "3") == (0, 2, 2)
    assert counts("Gloss") == (1, 0, 3)
    assert counts("Pearl") == (0, 0, 4)
    assert counts("") == (1, 0, 3)
    assert known(sheets, Which("cp", "Lustre", "1")) is None
    assert known(sheets, Which("dichroic", "Lustre", "1", "scan")) is None


def test_two_heads_of_one_kind_are_told_apart_by_their_names(notebook: Notebook) -> None:
    """Sheets without a name are of either; a sheet without one has learned from those alone."""
    for seed, name in enumerate(("Left", "left", "right", "")):
        first_sheet(notebook, seed, paper="Lustre", head=name)
    sheets = old(notebook)
    assert [one.which.named for one in sheets] == ["left", "left", "right", ""]
    assert sheets[0].which.name == "dichroic left on Lustre"
    counts = {}
    for name in ("left", "right", ""):
        found = known(sheets, Which("dichroic", "Lustre", named=name))
        assert found
        counts[name] = found.sheets
    assert counts == {"left": (3, 0, 0), "right": (2, 0, 0), "": (1, 0, 0)}
    forgotten = {"dichroic left on Lustre": "2999-01-01T00:00:00+00:00"}
    assert [one.which.named for one in old_sheets(notebook, MINE, "", forgotten)] == ["right", ""]
    right = paper_known(notebook, Head("dichroic", name="Right"), "Lustre")
    assert right and right.sheets == (2, 0, 0)


def test_what_it_says_of_how_many_sheets(notebook: Notebook) -> None:
    first_sheet(notebook, 1, paper="Lustre", box="1")
    says = []
    for box in ("1", "2"):
        found = known(old(notebook), Which("dichroic", "Lustre", box))
        assert found
        says.append(learned_from(found))
    first_sheet(notebook, 2, paper="Lustre", box="2")
    for paper, box in (("Lustre", "2"), ("Gloss", "")):
        found = known(old(notebook), Which("dichroic", paper, box))
        assert found
        says.append(learned_from(found))
    assert says == [
        "head and paper known from 1 sheet",
        "head and paper known from 1 sheet of another box",
        "head and paper known from 2 sheets, 1 of another box",
        "head known from 2 sheets on other paper",
    ]


def test_the_head_is_the_recipes_or_the_settings(notebook: Notebook) -> None:
    first_sheet(notebook, 1)
    first_sheet(notebook, 2, made_for=a_print(head="cp"))
    assert [one.which.head for one in old(notebook)] == ["dichroic", "cp"]
    assert [one.which.head for one in old_sheets(notebook, Head("cp"), "", {})] == ["cp", "cp"]
    assert [one.which.head for one in old_sheets(notebook, Head("tricolour"), "", {})] == ["dichroic", "cp"]  # it had dials
    assert len(old(notebook, head="cp")) == 1
    assert old(notebook)[1].which.paper == "Lustre"  # the paper too is what it was made for


def test_heads_of_three_lights_are_told_by_their_exposures(notebook: Notebook) -> None:
    for lights, kind in ((Lights(12, 8, 6.5), "tricolour"), (Lights(80, 60, 50), "additive")):
        run = made(notebook, first_sheet_plan(lights, 12.0, kind))
        take_readings(notebook, run, [Reading(str(n), 0.6 + 0.1 * n, 0.7, 0.8, None) for n in range(1, 6)])
    assert [one.which.head for one in old(notebook)] == ["tricolour", "additive"]


def test_each_instrument_by_itself_and_no_eye(notebook: Notebook) -> None:
    run = first_sheet(notebook, 1, "scan")
    take_readings(notebook, run, [Reading("2 by eye", 0, 0, 0, None, "eye")])
    assert old(notebook) == []
    (scan,) = old_sheets(notebook, MINE, "scan", {})
    assert len(scan.sheet.read) == 5
    assert old_sheets(notebook, MINE, "eye", {}) and known(old_sheets(notebook, MINE, "eye", {}), scan.which) is None


def test_what_is_no_use_is_passed_over(notebook: Notebook) -> None:
    first_sheet(notebook, 1)
    broken = first_sheet(notebook, 2)
    with notebook.commit():
        notebook.write("UPDATE run SET state = 'stopped' WHERE id = ?", (broken,))
    take_readings(notebook, first_sheet(notebook, 3), [Reading("17", 0.5, 0.5, 0.5, None)])
    take_readings(notebook, first_sheet(notebook, 4), [Reading("2", 0.5, None, 0.5, None)])
    bw = made(notebook, print_plan(a_print().__class__(recipe=1, title="Coat", base_s=9, paper=Paper("bw"))))
    take_readings(notebook, bw, [Reading("1", 0.5, 0.5, 0.5, 0.5)])
    assert [one.sheet.run for one in old(notebook)] == [1]
    assert old(notebook, without=[1]) == []


def test_the_newest_count_oldest_first(notebook: Notebook, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("timer.measure.learned.MOST", 3)
    runs = [first_sheet(notebook, n) for n in range(5)]
    assert [one.sheet.run for one in old(notebook)] == runs[-3:]
    assert MOST == 24


def test_sheets_of_one_negative_share_it_and_others_do_not(notebook: Notebook) -> None:
    """A print of the same negative as it stood is of the same lesson; of another aperture, or without a name, of its own."""
    first = first_sheet(notebook, 1, negative="quay 3")
    after = a_print(derived=Derived(f"test sheet {first}"))
    for recipe, name in (
        (a_print(), "quay 3"), (a_print(enlargement=Enlargement(aperture=8)), "quay 3"), (a_print(), ""), (after, "")
    ):  # fmt: skip
        run = made(notebook, print_plan(recipe), recipe, negative=name or None)
        take_readings(notebook, run, [Reading("grey", 0.8, 0.8, 0.8, None)])
    found = {one.sheet.run: one.negative for one in old(notebook)}
    assert found[4] == (4,) and found[5] == (first,)
    assert found[2] != found[3] and found[2][0] == found[3][0] == "quay 3"


def test_second_greys_are_not_what_teaches(notebook: Notebook) -> None:
    run = first_sheet(notebook, 1)
    take_readings(notebook, run, [Reading("1 dark", 1.5, 1.5, 1.5, None)])
    assert [read.sample for read in old(notebook)[0].sheet.read] == ["1", "2", "3", "4", "5"]


# ── forgetting ───────────────────────────────────────────────────────────────


def test_what_is_forgotten_counts_no_more_until_new_sheets_come(notebook: Notebook) -> None:
    first_sheet(notebook, 1, paper="Lustre")
    name = name_of("dichroic", "Lustre")
    assert name == "dichroic on Lustre" and name_of("cp", "") == "cp on colour paper"
    before, later = "2020-01-01T00:00:00+00:00", "2999-01-01T00:00:00+00:00"
    assert old_sheets(notebook, MINE, "", {name: later}) == []
    assert len(old_sheets(notebook, MINE, "", {name: before})) == 1
    assert len(old_sheets(notebook, MINE, "", {name_of("cp", "Lustre"): later})) == 1


def test_the_list_has_each_head_paper_and_box_once(notebook: Notebook) -> None:
    first_sheet(notebook, 1, paper="Lustre", box="1")
    first_sheet(notebook, 2, paper="Lustre", box="2")
    found = every(old(notebook))
    assert [(which.box, learned.sheets, sign) for which, learned, sign in found] == [
        ("1", (1, 1, 0), 1),
        ("2", (1, 1, 0), 1),
    ]


def test_a_first_sheet_knows_whether_its_paper_is_known(notebook: Notebook) -> None:
    assert paper_known(notebook, MINE, "Lustre") is None
    first_sheet(notebook, 1, "scan", paper="Lustre", box="4")
    assert paper_known(notebook, MINE, "lustre ")
    assert paper_known(notebook, MINE, "Gloss") is None  # its head alone is
    assert paper_known(notebook, Head("additive"), "Lustre") is None


# ── where to begin ───────────────────────────────────────────────────────────


def right(notebook: Notebook, recipe: Recipe, **written: Any) -> None:
    made(notebook, print_plan(recipe), recipe, None, **({"rating": 4} | written))


def test_it_begins_from_the_median_of_right_prints(notebook: Notebook) -> None:
    for n, (m, y, base) in enumerate(((50, 40, 8), (60, 55, 10), (80, 45, 20))):
        right(notebook, a_print(m, y, base, title=f"Quay {n}"))
    right(notebook, a_print(250, 250, 90, title="poor"), rating=3)
    right(notebook, a_print(250, 250, 90, title="other head", head="cp"))
    found = start(notebook, MINE)
    assert (found.setting, found.seconds, found.prints) == (Pack(m=60, y=45), pytest.approx(10), 3)
    assert found.low == (Pack(m=50, y=40), pytest.approx(8)) and found.high == (Pack(m=80, y=55), pytest.approx(20))
    assert start_line(found) == (
        "pack and time: medians of 3 right prints (50M 40Y to 80M 55Y, 8.00 to 20.0 s); their times differ by over a stop: "
        "say --seconds for this size"
    )


def test_of_a_negative_the_newest_counts_and_final_is_right(notebook: Notebook) -> None:
    right(notebook, a_print(50, 40, 8))
    right(notebook, a_print(62, 48, 11), rating=None, notes=f"{FINAL}; at last")
    found = start(notebook, MINE)
    assert (found.setting, found.prints) == (Pack(m=62, y=48), 1)
    assert start_line(found) == "pack and time of the one right print in the notebook"


def test_only_prints_with_those_words(notebook: Notebook) -> None:
    right(notebook, a_print(50, 40, 8, title="a"), notes="film 200")
    right(notebook, a_print(70, 60, 12, title="b"), notes="film 400")
    assert start(notebook, MINE, "400").setting == Pack(m=70, y=60)
    with pytest.raises(Refused, match="no right colour print .* on a dichroic head with '800' in it: say where to begin"):
        start(notebook, MINE, "800")


def test_neutral_density_is_taken_out_with_its_time(notebook: Notebook) -> None:
    recipe = Recipe(recipe=1, title="n", base_s=10, paper=Paper("ra4"), filters=Filters(c=10, m=60, y=50, head="dichroic"))
    right(notebook, recipe)
    found = start(notebook, MINE)
    assert found.setting == Pack(m=50, y=40) and found.seconds < 10


def test_three_lights_by_their_own_measure(notebook: Notebook) -> None:
    for n, row in enumerate(((80.0, 60.0, 50.0), (84.0, 62.0, 44.0))):
        filters = Filters(red=row[0], green=row[1], blue=row[2], head="additive")
        right(notebook, Recipe(recipe=1, title=f"l{n}", base_s=10, paper=Paper("ra4"), filters=filters))
    assert start(notebook, Head("additive")).setting == Lights(82, 61, 47)
    with pytest.raises(Refused):
        start(notebook, Head("additive", per_stop=10))
    filters = Filters(red=120, green=80, blue=60, head="tricolour")
    right(notebook, Recipe(recipe=1, title="turn", base_s=12, paper=Paper("ra4"), filters=filters))
    found = start(notebook, Head("tricolour"))
    assert found.setting == Lights(12, 8, 6) and found.seconds == pytest.approx(12)
