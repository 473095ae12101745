"""The ``lamphouse`` command: with no arguments on a terminal the screen, else the command line."""

import sys


def main() -> None:
    if len(sys.argv) > 1 or not all(stream.isatty() for stream in (sys.stdin, sys.stdout, sys.stderr)):
        from timer.cli import main as command_line

        command_line()
        return
    from timer.errors import LamphouseError

    try:
        from tui.app import run

        sys.exit(run())
    except LamphouseError as error:
        sys.stderr.write(f"Error: {error}\n")
        sys.exit(error.exit_code)
