"""The pages of docs/reference, a line for every module: python -m tests.tools.reference"""

from pathlib import Path

ROOT = Path(__file__).parents[2]
ROOMS = {
    "craft": ("Arithmetic", "Pure functions; nothing here knows a file, a clock or a lamp."),
    "documents": ("Documents", "TOML in and out, with messages that a person can act on."),
    "plans": ("Plans", "What is given to the paper, in order."),
    "measure": ("Measure", "From readings of a sheet to the next one."),
    "notebook": ("Notebook", "Intent before light, fact after it."),
    "run": ("Run", "From the notebook to the lamp and back."),
    "app": ("App", "What a command or a page asks for."),
}


def page(room: str) -> str:
    title, says = ROOMS[room]
    modules = sorted(path.stem for path in (ROOT / "timer" / room).glob("*.py") if path.stem != "__init__")
    return "\n\n".join([f"# {title}", says, *(f"::: timer.{room}.{name}" for name in modules)]) + "\n"


if __name__ == "__main__":
    for room in ROOMS:
        (ROOT / "docs" / "reference" / f"{room}.md").write_text(page(room))
