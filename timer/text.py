"""Text that is shown: finding and taking out what would act on a terminal or reverse a line.

Refused where text comes in, taken out once more where it is printed: an old notebook or a file name may hold anything.
"""

import re

_ACTING = (
    "\x00-\x08\x0b-\x1f"  # C0, but for tab and line feed
    "\x7f-\x9f"  # delete and C1: one of them begins a command on some terminals, as ESC [ does
    "\u2028\u2029"  # line and paragraph separators
    "\u202a-\u202e\u2066-\u2069"  # embeddings, overrides and isolates: the text after them is shown in another order
    "\ufeff\ufff9-\ufffb"
    "\ud800-\udfff"  # halves of a pair: no text, and nothing can write them
    "\U000e0000-\U000e007f"  # invisible tags
)
UNFIT = re.compile(f"[{_ACTING}]")
_UNFIT_IN_LINE = re.compile(f"[\t\n{_ACTING}]")
_BLANKS = re.compile(r"[\t\n]+ *")
STAND_IN = "\ufffd"


def unfit(text: str, *, lines: bool = False) -> str:
    """What in ``text`` cannot be shown, in words; empty when all can. ``lines``: it may have tabs and several lines."""
    found = (UNFIT if lines else _UNFIT_IN_LINE).search(text)
    if not found:
        return ""
    if found[0] == "\n":
        return "a line break"
    if found[0] == "\t":
        return "a tab"
    return f"a control character (U+{ord(found[0]):04X})"


def plain(text: str) -> str:
    """``text`` with nothing in it that acts: each such character as a replacement sign; tabs and line ends stay."""
    return UNFIT.sub(STAND_IN, text.replace("\r\n", "\n")) if UNFIT.search(text) else text


def one_line(text: str, most: int = 600) -> str:
    """``text`` plain and on one line; what is longer than ``most`` has its middle left out."""
    line = _BLANKS.sub(" ", plain(text))
    if len(line) <= most:
        return line
    half = (most - 5) // 2
    return f"{line[:half]} ... {line[-half:]}"


def for_cells(text: str) -> str:
    """``text`` for the cells of a screen that has been laid out: nothing acts, and it is as wide as it was.

    What acts has no width and goes; half a pair was laid out as one cell, and stays one.
    """
    if not _UNFIT_IN_LINE.search(text):
        return text
    return _UNFIT_IN_LINE.sub(lambda found: STAND_IN if "\ud800" <= found[0] <= "\udfff" else "", text)
