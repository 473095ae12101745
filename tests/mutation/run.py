"""Which faults in the arithmetic would no test see? Mutates timer/craft, one place at a time, and runs its tests on each.

    pip install cosmic-ray
    python -m tests.mutation.run                     # all of timer/craft: hours
    python -m tests.mutation.run filters lights      # these modules, some minutes each

Works in copies, one a module, so the tree itself is never touched. Prints every mutant that lived: each wants a test, or a
reason why it is no fault. Replacing arithmetic by shifts, bits, remainders and whole
division is left out: it ends in errors of type, not of arithmetic.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
CRAFT = Path("timer") / "craft"
CONFIG = """
[cosmic-ray]
module-path = "{module}"
timeout = 120.0
excluded-modules = []
test-command = "{tests}"

[cosmic-ray.distributor]
name = "local"

[cosmic-ray.filters.operators-filter]
exclude-operators = [
  "core/ReplaceBinaryOperator_.*_(RShift|LShift|BitAnd|BitXor|BitOr|FloorDiv|Mod)",
  "core/ReplaceBinaryOperator_BitOr_.*",
]
"""
# Pytest with no plugin but Hypothesis's: it starts in a third of the time. The module's own tests go first.
PYTEST = "[pytest]\nmarkers = published\npythonpath = .\n"
TESTS = "-c mutation.ini --rootdir . -p _hypothesis_pytestplugin -p no:cacheprovider --hypothesis-profile=mutation -x -q"


@dataclass(frozen=True)
class Mutant:
    """One change in one line, and whether a test saw it."""

    module: str
    line: int
    operator: str
    before: str
    after: str
    survived: bool


def mutants_of(module: str) -> list[Mutant]:
    """Every mutant of ``module`` with its fate; the tests run once for each."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in ("timer", "tui", "tests"):
            shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(ROOT / "pyproject.toml", copy)
        path = CRAFT / f"{module}.py"
        # File by file: pytest leaves a folder out whose one file was named before it.
        files = sorted((copy / "tests" / "craft").glob("test_*.py"), key=lambda file: file.stem != f"test_{module}")
        named = " ".join(str(file.relative_to(copy)) for file in files)
        tests = f"{sys.executable} -m pytest {TESTS} {named} tests/published"
        (copy / "mutation.toml").write_text(CONFIG.format(module=path, tests=tests))
        (copy / "mutation.ini").write_text(PYTEST)
        tools, bare = Path(sys.executable).parent, {**os.environ, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}

        def call(tool: str, *arguments: str) -> str:
            done = subprocess.run([tools / tool, *arguments], cwd=copy, env=bare, check=True, capture_output=True, text=True)
            return done.stdout

        call("cosmic-ray", "init", "mutation.toml", "session.sqlite")
        call("cr-filter-operators", "session.sqlite", "mutation.toml")
        call("cosmic-ray", "exec", "mutation.toml", "session.sqlite")
        return list(_read(module, call("cosmic-ray", "dump", "session.sqlite")))


def _read(module: str, dump: str) -> Iterator[Mutant]:
    for line in dump.splitlines():
        work, result = json.loads(line)
        if not result or result["worker_outcome"] != "normal":
            continue
        mutation = work["mutations"][0]
        rows = (result["diff"] or "").splitlines()
        before = next((row[1:].strip() for row in rows if row.startswith("-") and not row.startswith("---")), "")
        after = next((row[1:].strip() for row in rows if row.startswith("+") and not row.startswith("+++")), "")
        survived = result["test_outcome"] == "survived"
        yield Mutant(module, mutation["start_pos"][0], mutation["operator_name"], before, after, survived)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", nargs="*", help="of timer/craft; all of them when none is named")
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    modules = options.modules or sorted(p.stem for p in (ROOT / CRAFT).glob("*.py") if p.stem != "__init__")
    with ThreadPoolExecutor(options.workers) as pool:
        for module, mutants in zip(modules, pool.map(mutants_of, modules), strict=True):
            lived = [mutant for mutant in mutants if mutant.survived]
            print(f"{module}: {len(mutants)} mutants, {len(lived)} lived", flush=True)
            for mutant in lived:
                print(f"  {mutant.line}: {mutant.before}\n  {' ' * len(str(mutant.line))}  {mutant.after}", flush=True)


if __name__ == "__main__":
    main()
