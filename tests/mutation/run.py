"""Which faults in the arithmetic would no test see? Mutates timer/craft, one place at a time, and runs its tests on each.

    pip install cosmic-ray
    python -m tests.mutation.run                     # all of timer/craft: hours
    python -m tests.mutation.run filters lights      # these modules, some minutes each

Works in a copy, so the tree itself is never touched. Prints every mutant that lived: each wants a test, or a reason why it is
no fault (survivors.md). Cosmic-ray makes the mutants; each is tried in a fork of this process, which has pytest and what
it needs loaded. Replacing arithmetic by shifts, bits, remainders and whole division is left out: it ends in errors of
type, not of arithmetic.
"""

import argparse
import asyncio  # noqa: F401 - every fork has it
import difflib
import gc
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

import grimp
import hypothesis  # noqa: F401
import numpy  # noqa: F401
import pytest
import scipy.interpolate
import scipy.optimize
import scipy.special
import scipy.stats  # noqa: F401 - most of the time of a try would be this

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it misses drawing programs
    import colour  # noqa: F401

ROOT = Path(__file__).parents[2]
CRAFT = Path("timer") / "craft"
CONFIG = """
[cosmic-ray]
module-path = "{module}"
timeout = 120.0
excluded-modules = []
test-command = "none"

[cosmic-ray.distributor]
name = "local"

[cosmic-ray.filters.operators-filter]
exclude-operators = [
  "core/ReplaceBinaryOperator_.*_(RShift|LShift|BitAnd|BitXor|BitOr|FloorDiv|Mod)",
  "core/ReplaceBinaryOperator_BitOr_.*",
]
"""
# Pytest with no plugin but Hypothesis's, and without the one that collects garbage five times at the end: most of a try is
# pytest's own start and end.
PYTEST = "[pytest]\nmarkers = published\npythonpath = .\n"
OPTIONS = (
    "-c mutation.ini --rootdir . -p _hypothesis_pytestplugin -p no:cacheprovider -p no:unraisableexception "
    "--hypothesis-profile=mutation -x -q"
)
LONGEST_S, LONGEST_WAIT_S, MOST_BYTES = 30, 900, 2**31
"""Of the processor, by the clock, and of memory: one that never ends, or makes a list without end, is seen."""


@dataclass(frozen=True)
class Mutant:
    """One change in one line, and whether it lived: no test saw it."""

    line: int
    before: str
    after: str
    survived: bool


def mutants_of(module: str) -> Iterator[Mutant]:
    """Every mutant of ``module`` with its fate; its own tests first, then the others that import it."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in ("timer", "tui", "tests"):
            shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(ROOT / "pyproject.toml", copy)
        (copy / "mutation.ini").write_text(PYTEST)
        # File by file: pytest leaves a folder out whose one file was named before it.
        files = sorted(file.relative_to(copy) for file in (copy / "tests" / "craft").glob("test_*.py"))
        files += sorted(file.relative_to(copy) for file in (copy / "tests" / "published").glob("test_*.py"))
        importing = _importing(module)
        files = [file for file in files if ".".join(file.with_suffix("").parts) in importing]
        own = [str(file) for file in files if file.stem == f"test_{module}" and file.parent.name == "craft"]
        rest = [str(file) for file in files if str(file) not in own]
        path = copy / CRAFT / f"{module}.py"
        source = path.read_text()
        gc.freeze()  # what is loaded by now: Hypothesis collects garbage in every try
        if not _sees_nothing(copy, own, rest):
            raise SystemExit(f"{module}: its tests fail as it is")
        for spec in _specs(copy, module):
            changed = _mutated(source, spec)
            if changed is None:
                continue
            path.write_text(changed)
            for stale in path.parent.glob(f"__pycache__/{module}.*"):
                stale.unlink()
            before, after = _difference(source, changed)
            yield Mutant(spec["start_pos"][0], before, after, _sees_nothing(copy, own, rest))


def _specs(copy: Path, module: str) -> list[dict[str, Any]]:
    (copy / "mutation.toml").write_text(CONFIG.format(module=CRAFT / f"{module}.py"))
    tools = Path(sys.executable).parent

    def call(tool: str, *arguments: str) -> str:
        return subprocess.run([tools / tool, *arguments], cwd=copy, check=True, capture_output=True, text=True).stdout

    call("cosmic-ray", "init", "mutation.toml", "session.sqlite")
    call("cr-filter-operators", "session.sqlite", "mutation.toml")
    rows = (json.loads(line) for line in call("cosmic-ray", "dump", "session.sqlite").splitlines())
    return [work["mutations"][0] for work, result in rows if not result]  # those with one were left out by the filter


def _mutated(source: str, spec: dict[str, Any]) -> str | None:
    operator = import_module("cosmic_ray.plugins").get_operator(spec["operator_name"])(**spec["operator_args"])
    made: str | None = import_module("cosmic_ray.mutating").mutate_code(source, operator, spec["occurrence"])
    return made


def _difference(before: str, after: str) -> tuple[str, str]:
    rows = [row for row in difflib.ndiff(before.splitlines(), after.splitlines()) if row[0] in "+-"]
    return tuple(next((row[2:].strip() for row in rows if row[0] == sign), "") for sign in "-+")  # type: ignore[return-value]


def _importing(module: str) -> set[str]:
    """Whatever imports ``module``, itself or through another: no test that does not can see a fault in it."""
    graph = grimp.build_graph("timer", "tui", "tests", cache_dir=None)
    return graph.find_downstream_modules(f"timer.craft.{module}")


def _sees_nothing(copy: Path, own: list[str], rest: list[str]) -> bool:
    """Whether every test passes, in a process of their own."""
    return _forked(copy, lambda: _run(own) or _run(rest)) == 0


def _run(files: list[str]) -> int:
    return int(pytest.main([*OPTIONS.split(), *files])) if files else 0


def _forked(copy: Path, run: Callable[[], int]) -> int:
    """What ``run`` gives in a process of its own, in which ``copy`` is the tree that is meant."""
    child = os.fork()
    if not child:
        code = 70
        try:
            _prepare(copy)
            code = run()
        finally:
            os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _prepare(copy: Path) -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (LONGEST_S, LONGEST_S))
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    signal.alarm(LONGEST_WAIT_S)
    nothing = os.open(os.devnull, os.O_RDWR)
    os.dup2(nothing, 1)
    os.dup2(nothing, 2)
    for name in [name for name in sys.modules if name.partition(".")[0] in ("tests", "timer", "tui")]:
        del sys.modules[name]  # the copy's are meant
    sys.dont_write_bytecode = False
    os.chdir(copy)
    sys.path[0] = str(copy)
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    warnings.simplefilter("ignore")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", nargs="*", help="of timer/craft; all of them when none is named")
    options = parser.parse_args()
    for module in options.modules or sorted(p.stem for p in (ROOT / CRAFT).glob("*.py") if p.stem != "__init__"):
        count = lived = 0
        for mutant in mutants_of(module):
            count += 1
            lived += mutant.survived
            if mutant.survived:  # told at once: such a run is often broken off
                print(f"  {module} {mutant.line}: {mutant.before}\n  {' ' * len(module)}   {mutant.after}", flush=True)
        print(f"{module}: {count} mutants, {lived} lived", flush=True)


if __name__ == "__main__":
    main()
