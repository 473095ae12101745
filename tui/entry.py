"""The ``lamphouse`` command: with no arguments on a terminal the screen, else the command line.

What is imported within a function is for the start-up time: a terminal with paper out is dark before more is loaded.
"""

import gc
import os
import sys
from contextlib import suppress

COMPLETE = "_LAMPHOUSE_COMPLETE"
"""Set by a shell that wants the rest of a word: that is the command line's to answer, with no arguments too."""


def main() -> None:
    """Exits with the command's code; a LamphouseError is one sentence and code 1."""
    if len(sys.argv) > 1 or COMPLETE in os.environ:
        from timer.cli import main as command_line

        command_line()
        return
    from timer.errors import LamphouseError

    try:
        _must_be_a_terminal()
        _dark_first()
        gc.disable()  # until the first page stands: all that is loaded by then is kept
        from tui.app import run

        sys.exit(run())
    except LamphouseError as error:
        sys.stderr.write(f"Error: {error}\n")
        sys.exit(error.exit_code)


def _must_be_a_terminal() -> None:
    """The screen needs one that can be kept dark. Without: help, and the reason."""
    from timer.errors import Refused
    from tui.terminal import Depth, depth_of

    names = ("input", "output", "error output")
    streams = zip(names, (sys.stdin, sys.stdout, sys.stderr), strict=True)
    not_one = [name for name, stream in streams if stream is None or not stream.isatty()]
    if not_one:
        from timer.cli import help_text

        sys.stderr.write(f"{help_text()}\nNo screen here: no terminal is at its {' and '.join(not_one)}.\n")
        sys.exit(2)
    if depth_of(os.environ) is Depth.NONE:
        term = os.environ.get("TERM", "")
        raise Refused(
            f"no screen here: a terminal of TERM={term or '(nothing)'} cannot be set to red or black, so it "
            "cannot be kept dark; set TERM to what it is, or use the commands (lamphouse --help) with the lights on"
        )


def _dark_first() -> None:
    """With paper out the terminal goes dark before anything else: what the screen needs takes half a second to load."""
    from timer.app import notebooks
    from timer.errors import LamphouseError
    from tui.rooms import Room, red_of, room_for
    from tui.terminal import empty_page, in_room

    with suppress(LamphouseError):
        room = room_for(notebooks.out())
        if room is not Room.WHITE:
            sys.stderr.write(in_room(room, red_of(0), os.environ) + empty_page(room, red_of(0), os.environ))
            sys.stderr.flush()
