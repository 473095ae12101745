"""What is imported within a function is late for the start-up time alone, and its file says so: a circle hides behind none.

The command line says it once, for all of its files (timer/cli/__init__.py). numpy and Pillow are late wherever they are
used: what gives light loads neither (tests/cli/test_light_imports.py).
"""

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
SAYS = "imported within"
HEAVY = ("PIL", "numpy")


def late_imports(source: str) -> Iterator[int]:
    """Line of every import within a function of ``source`` that no comment beside it, nor the docstring, speaks of."""
    tree, lines = ast.parse(source), source.splitlines()
    if SAYS in (ast.get_docstring(tree) or ""):
        return
    within = {node for f in ast.walk(tree) if isinstance(f, ast.FunctionDef | ast.AsyncFunctionDef) for node in ast.walk(f)}
    for node in within:
        if isinstance(node, ast.Import | ast.ImportFrom):
            line = lines[node.lineno - 1]
            if "#" not in line and not line.split()[1].startswith(HEAVY):
                yield node.lineno


def test_every_late_import_is_said() -> None:
    files = [*(ROOT / "timer").rglob("*.py"), *(ROOT / "tui").rglob("*.py")]
    found = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in files
        if path.parent != ROOT / "timer" / "cli"
        for line in late_imports(path.read_text(encoding="utf-8"))
    ]
    assert len(files) > 200 and not found
    assert SAYS in (ROOT / "timer" / "cli" / "__init__.py").read_text(encoding="utf-8")


def test_what_is_a_late_import() -> None:
    assert list(late_imports("import os\n\ndef f():\n    import json\n    return json\n")) == [4]
    assert not list(late_imports("def f():\n    import json  # of what few use\n"))
    assert not list(late_imports('"""What is imported within a function is late."""\ndef f():\n    import json\n'))
