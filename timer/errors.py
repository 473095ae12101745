"""The one exception that reaches the printer: a single sentence and, behind it, an exit code."""


class LamphouseError(Exception):
    """What is wrong, where, and what would be right, in words for the printer."""

    exit_code = 1


class Refused(LamphouseError):
    """The lamp was not lit, because it should not have been."""


class KeeperError(LamphouseError):
    """The keeper could not be started, was lost, or does not answer."""


class NotebookError(LamphouseError):
    """The notebook cannot be read or written."""
