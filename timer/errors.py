"""The one exception that reaches the printer: a single sentence and, behind it, an exit code; and what the system says."""

from timer.text import one_line


class LamphouseError(Exception):
    """What is wrong, where, and what would be right, in words for the printer."""

    exit_code = 1

    def __init__(self, says: str) -> None:
        """``says`` may quote what a file holds: it is made one line of bounded length that acts on no terminal."""
        super().__init__(one_line(says))


class Refused(LamphouseError):
    """The lamp was not lit, because it should not have been."""


class KeeperError(LamphouseError):
    """The keeper could not be started, was lost, or does not answer."""


class NotebookError(LamphouseError):
    """The notebook cannot be read or written."""


def reason(error: Exception) -> str:
    """What the system says, in small letters: ``no such file or directory``."""
    return ((error.strerror if isinstance(error, OSError) else None) or str(error)).lower()
