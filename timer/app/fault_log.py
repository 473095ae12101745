"""A fault of ours, kept in a file that a report can attach."""

from timer.documents.files import write_over
from timer.documents.folders import folder
from timer.errors import LamphouseError
from timer.text import plain


def keep_fault(report: str) -> str:
    """Write ``report`` in the state folder, in the place of the last one; what to ask the printer for, in words."""
    path = folder("state") / "fault.log"
    try:
        write_over(path, plain(report).encode())
    except (OSError, LamphouseError):
        return "Please report it."
    return f"Please report it with {path}."
