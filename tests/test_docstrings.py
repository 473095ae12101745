"""Every public class, function and method says what it gives."""

import ast
import importlib
from collections.abc import Iterator
from pathlib import Path

from timer.keeper.boards.protocol import Board
from timer.keeper.host.client import Ending, Link
from tui.context import Context

ROOT = Path(__file__).parents[1]
PROTOCOLS: tuple[type, ...] = (Board, Link, Ending, Context)
HANDLERS = ("on_", "action_")
"""How Textual calls them; what they do is said by their names."""

Definition = ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef


def test_what_is_public_is_documented() -> None:
    """Free are: a method that a base documents, or a protocol that its class follows; Textual's handlers; tests."""
    files = [file for room in ("timer", "tui") for file in sorted((ROOT / room).rglob("*.py"))]
    assert len(files) > 100
    assert [found for file in files for found in undocumented(file)] == []


def undocumented(file: Path) -> Iterator[str]:
    module = ".".join(file.relative_to(ROOT).with_suffix("").parts)
    for node in ast.parse(file.read_text()).body:
        if not isinstance(node, Definition) or node.name.startswith(("_", "test_")):
            continue
        if not ast.get_docstring(node):
            yield f"{module}:{node.lineno} {node.name}"
        for method in node.body if isinstance(node, ast.ClassDef) else ():
            if not isinstance(method, Definition) or method.name.startswith(("_", *HANDLERS)):
                continue
            if not ast.get_docstring(method) and not documented_above(module, node.name, method.name):
                yield f"{module}:{method.lineno} {node.name}.{method.name}"


def documented_above(module: str, class_name: str, name: str) -> bool:
    made = getattr(importlib.import_module(module), class_name)
    above = [*made.__mro__[1:], *(each for each in PROTOCOLS if follows(made, each))]
    return any(name in vars(each) and vars(each)[name].__doc__ for each in above)


def follows(made: type, protocol: type) -> bool:
    return all(hasattr(made, name) for name, value in vars(protocol).items() if callable(value) and name[0] != "_")
