"""The card of a sheet that was interrupted has all the light it had; and it is one sheet in the account."""

from pathlib import Path

from timer.documents.recipe_file import parse_recipe
from timer.notebook import sheets
from timer.notebook.card import as_text, card_of
from timer.notebook.rows import new_row
from timer.notebook.store import Notebook
from timer.plans.print import print_plan
from timer.plans.remainder import rest_of

RECIPE = """
recipe = 1
title = "Stair well"
base_s = 8.0
[paper]
kind = "bw"
[[burn]]
area = "window"
stops = "1/2"
"""


def test_a_resumed_prints_card_shows_the_whole_print(tmp_path: Path) -> None:
    plan = print_plan(parse_recipe(RECIPE))
    base, burn = (n for n, step in enumerate(plan.steps) if step.do == "expose")
    with Notebook(tmp_path / "n.db") as notebook:
        first = notebook.begin_run(plan, recipe=RECIPE)
        notebook.intend(new_row(first, 0, base, "base", 8.0, 8_000_000))
        notebook.fact(first, 0, 3_000_000, 3_000_000, "pedal")
        notebook.end_run(first, "stopped", "stopped by you")
        left = rest_of(plan, {base: 3.0})
        lit = [n for n, step in enumerate(left.steps) if step.do == "expose"]
        second = notebook.begin_run(left, recipe=RECIPE, continues=first)
        for number, (step, seconds) in enumerate(zip(lit, (5.0, plan.steps[burn].seconds), strict=True)):
            label = ("base", "window")[number]
            notebook.intend(new_row(second, number, step, label, seconds, round(seconds * 1e6)))
            notebook.fact(second, number, round(seconds * 1e6), round(seconds * 1e6), "complete")
        notebook.end_run(second, "finished", "finished")
        made = card_of(notebook, second)
        assert [row[0] for row in made.exposures] == ["base", "base", "window"]
        text = as_text(made)
        assert "3.00 s" in text and "5.00 s" in text and "3.31 s" in text
        account = sheets.account(notebook)
        assert (account.sheets, account.area) == (1, 1.0)


def test_a_box_that_was_opened_in_vain_used_no_sheet(tmp_path: Path) -> None:
    with Notebook(tmp_path / "n.db") as notebook:
        run = notebook.begin_run(print_plan(parse_recipe(RECIPE)), recipe=RECIPE)
        notebook.end_run(run, "stopped", "stopped by you")
        assert sheets.account(notebook).sheets == 0


def test_a_chain_that_leads_round_ends(tmp_path: Path) -> None:
    with Notebook(tmp_path / "n.db") as notebook:
        run = notebook.begin_run(print_plan(parse_recipe(RECIPE)), recipe=RECIPE)
        with notebook.commit():
            notebook.write("UPDATE run SET continues = ? WHERE id = ?", (run, run))
        assert card_of(notebook, run).title == "Stair well"
