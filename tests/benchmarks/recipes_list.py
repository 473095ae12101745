"""The list of 1,000 recipes: opened for the first time, found by a word, opened again; and a naive one beside it.

The naive list reads every file as a recipe before it shows any. Medians of several, of the work without the drawing.

python -m tests.benchmarks.recipes_list --json
"""

import argparse
import json
import os
import tempfile
import time
from pathlib import Path

from tests.tools.median import median_ms
from timer.app.jobs import load_job
from timer.app.negatives import Shelf, entry
from timer.documents.files import toml_files

EXAMPLE = Path(__file__).parents[2] / "timer" / "documents" / "example.toml"
ROWS = 40
"""As many as a tall screen shows."""
LONG_AGO_S = 1_700_000_000


def fill(folder: Path, count: int) -> None:
    """Recipes of many negatives, some with versions, every 50th broken; none changed lately."""
    text = EXAMPLE.read_text()
    begin = text.index("title")
    rest = text[text.index("\n", begin) :]
    for n in range(count):
        path = folder / f"recipe-{n:04}.toml"
        broken = "base_s = nothing\n" if n % 50 == 0 else ""
        path.write_text(f'recipe = 1\ntitle = "Stairs {n}"\nnegative = "roll {n // 3}"\n{broken}{_without(rest)}')
        os.utime(path, (LONG_AGO_S + n, LONG_AGO_S + n))


def _without(text: str) -> str:
    return "\n".join(line for line in text.splitlines() if not line.startswith(("recipe =", "title", "negative")))


def shown(shelf: Shelf, words: str = "") -> int:
    """The first page of the list; how many negatives there are."""
    found = shelf.negatives(words)
    for negative in found[:ROWS]:
        entry(negative.versions[0], {})
    return len(found)


def naive(folder: Path) -> int:
    good = 0
    for path in toml_files(folder):
        try:
            good += bool(load_job(path))
        except Exception:
            continue
    return good


def measure(count: int) -> dict[str, float]:
    home = Path(tempfile.mkdtemp(prefix="lamphouse-list-"))
    os.environ["LAMPHOUSE_HOME"] = str(home)
    os.chdir(home)
    folder = home / "recipes"
    folder.mkdir()
    fill(folder, count)
    shelf = Shelf()
    busy = time.process_time()
    first = median_ms(lambda: shown(shelf), 1)
    busy = time.process_time() - busy
    negatives = shown(shelf)
    result = {
        "recipes": count,
        "negatives": negatives,
        "first_ms": first,
        "first_cpu_ms": busy * 1000,
        "again_ms": median_ms(lambda: shown(shelf), 7),
        "found_ms": median_ms(lambda: shown(shelf, "roll 7 stairs"), 7),
        "naive_ms": median_ms(lambda: naive(folder), 1),
    }
    result["naive_to_first"] = result["naive_ms"] / result["first_ms"]
    return result


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--count", type=int, default=1000)
    options = parser.parse_args()
    result = measure(options.count)
    print(json.dumps(result) if options.json else "\n".join(f"{key:15} {value:9.1f}" for key, value in result.items()))


if __name__ == "__main__":
    main()
