"""A notebook of 100,000 sheets: open, search, show, each as the median of several; and a run's write beside it.

python -m tests.benchmarks.notebook_size --json
"""

import argparse
import itertools
import json
import tempfile
from fractions import Fraction
from pathlib import Path

from tests.tools.median import median_ms
from timer.documents.recipe_file import parse_recipe
from timer.notebook import sheets
from timer.notebook.rows import new_row
from timer.notebook.store import Notebook, words_of
from timer.plans.print import print_plan
from timer.plans.stored import encode_plan, plan_hash
from timer.plans.strip import strip_plan

EXAMPLE = Path(__file__).parents[2] / "timer" / "documents" / "example.toml"


def fill(path: Path, count: int) -> None:
    text = EXAMPLE.read_text()
    plan = print_plan(parse_recipe(text))
    stored, mark = encode_plan(plan).decode(), plan_hash(plan)
    notebook = Notebook(path)
    with notebook.commit():
        for n in range(1, count + 1):
            title, negative = f"{plan.title} {n % 977}", f"roll {n % 131}, frame {n % 36}"
            notebook.write(
                "INSERT INTO run (begun, state, kind, title, plan, plan_hash, recipe) VALUES (?, 'finished', 'print', ?, ?, ?, ?)",
                ("2026-01-01T12:00:00+00:00", title, stored, mark, text),
            )
            notebook.write(
                "INSERT INTO sheet (run, begun, kind, title, negative, words) VALUES (?, ?, 'print', ?, ?, ?)",
                (n, "2026-01-01T12:00:00+00:00", title, negative, words_of(title, negative)),
            )
    notebook.close()


def commit_cost(notebook: Notebook) -> dict[str, float]:
    """A commit while light is on, in a run of 24 exposures; and how much of it the run's sum takes."""
    run = notebook.begin_run(strip_plan(8.0, Fraction(1, 12), 24, "window"))
    for n in range(24):
        notebook.intend(new_row(run, n, 2 * n + 1, f"patch {n + 1}", 8.0, 8_000_000))
        notebook.fact(run, n, 8_000_000, 8_000_000, "complete")
    seen_us = itertools.count(1_000_000)
    whole = median_ms(lambda: notebook.progress(run, 23, next(seen_us)), 101)
    own = median_ms(lambda: notebook.agrees(run), 101)
    return {"commit_in_light_ms": whole, "of_it_for_the_sum_ms": own, "share_of_the_sum": own / whole}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sheets", type=int, default=100_000)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="lh-") as folder:
        path = Path(folder) / "n.db"
        fill(path, options.sheets)
        notebook = Notebook(path)
        text = EXAMPLE.read_text()
        plan = print_plan(parse_recipe(text))
        data = {
            "sheets": options.sheets,
            "open_ms": median_ms(lambda: Notebook(path, read_only=True).close()),
            "search_ms": median_ms(lambda: sheets.search(notebook, "roll 77, 5")),
            "search_nothing_ms": median_ms(lambda: sheets.search(notebook, "zebra crossing")),
            "show_ms": median_ms(lambda: (notebook.run(options.sheets // 2), sheets.sheet(notebook, options.sheets // 2))),
            "list_ms": median_ms(lambda: notebook.runs(50)),
            "begin_run_ms": median_ms(lambda: notebook.begin_run(plan, recipe=text)),
        }
        data |= commit_cost(notebook)
        notebook.close()
    print(json.dumps(data, indent=2) if options.json else "\n".join(f"{k}: {v:.2f}" for k, v in data.items()))


if __name__ == "__main__":
    main()
