"""Screen and command line open no file themselves: what opens, reads or writes is asked of timer.app (docs/decisions/0018).

The import contracts hold it for our own modules; this for Python's.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
OPENS = {"open", "read_text", "read_bytes", "write_text", "write_bytes"}
OWN = {"tui/shine.py", "timer/cli/plain_stream.py"}
"""The backlight and the terminal itself are the screen's own, the standard streams the command line's."""


def opened(source: str) -> Iterator[int]:
    """Line of every call in ``source`` that opens a file."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call):
            called = node.func
            name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
            if name in OPENS:
                yield node.lineno


def test_no_file_is_opened_beside_the_app() -> None:
    files = [*(ROOT / "timer" / "cli").glob("*.py"), *(ROOT / "tui").rglob("*.py")]
    names = {str(path.relative_to(ROOT)): path.read_text(encoding="utf-8") for path in files}
    assert len(names) > 80 and set(names) >= OWN
    assert {f"{name}:{line}" for name, source in names.items() if name not in OWN for line in opened(source)} == set()


def test_what_opens_a_file() -> None:
    assert list(opened("import os\nopen('a')\n\nos.open('b', 0)\nPath('c').write_text('d')\nreopened()\n")) == [2, 4, 5]
