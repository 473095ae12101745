"""Nothing printed acts on the terminal, whatever control characters a title, file name or notebook holds.

Standard output and error are wrapped once, in ``main``. Colour, cursor and bell go through ``act``.
"""

import os
import sys
from typing import Any, TextIO

from timer.text import plain


class PlainStream:
    """A text stream in front of ``out``: the same, but for control characters in what is written."""

    encoding = "utf-8"
    errors = "replace"

    def __init__(self, out: TextIO) -> None:
        self._out = out

    def write(self, text: str) -> int:
        """Write ``text`` without its control characters; the letters taken, as of any stream."""
        self._out.write(plain(text))
        return len(text)

    def act(self, codes: str) -> None:
        """Write ``codes`` as they are: colour, cursor, bell."""
        self._out.write(codes)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._out, name)


def open_closed_streams() -> None:
    """A standard stream that was closed before this program began goes nowhere, and no file of ours gets its number: what
    is printed there would end up in the notebook."""
    for number, (name, mode) in enumerate((("stdin", "r"), ("stdout", "w"), ("stderr", "w"))):
        if getattr(sys, name) is None:
            nowhere = os.open(os.devnull, os.O_RDWR)
            if nowhere != number:
                os.dup2(nowhere, number)
                os.close(nowhere)
            os.set_inheritable(number, True)
            setattr(sys, name, os.fdopen(number, mode, closefd=False))


def wrap_standard_streams() -> None:
    """Put a PlainStream before standard output and error; a character that their encoding lacks is a question mark."""
    for name in ("stdout", "stderr"):
        out = getattr(sys, name)
        if out is None or isinstance(out, PlainStream):
            continue
        if hasattr(out, "reconfigure"):
            out.reconfigure(errors="replace")
        setattr(sys, name, PlainStream(out))


def act(out: Any, codes: str) -> None:
    """Write ``codes`` to the terminal behind ``out``."""
    getattr(out, "act", out.write)(codes)
