"""One number of a TOML document changed, every other byte of it as the printer wrote it."""

import tomllib

from timer.documents.toml_io import LEXEME


def with_number(text: str, key: str, number: str) -> str:
    """``text`` with ``number`` as the value of ``key``, which stands before the first table; its comment stays.

    ``text`` is valid TOML. ValueError when there is no such key, or the change is not that one alone.
    """
    begin, end = _value_of(text, key)
    old = text[begin:end]
    value = old.strip()
    at = begin + old.index(value) if value else begin
    changed = text[:at] + number + text[at + len(value) :]
    if tomllib.loads(changed) != tomllib.loads(text) | {key: float(number)}:
        raise ValueError(f"{key} is not a number on its own there")
    return changed


def _value_of(text: str, key: str) -> tuple[int, int]:
    """From behind the equals sign to the end of the line, or the comment."""
    depth, statement, equals = 0, 0, -1
    for found in LEXEME.finditer(text):
        what = found[0]
        if what in ("[", "{"):
            if depth == 0 and equals < 0:
                break  # a table's heading: what follows is not of the document itself
            depth += 1
        elif what in ("]", "}"):
            depth -= 1
        elif depth == 0 and what == "=":
            equals = found.start()
        elif depth == 0 and equals >= 0 and (what == "\n" or what.startswith("#")):
            if _is(text[statement:equals], key):
                return equals + 1, found.start()
            equals = -1
        if depth == 0 and what == "\n":
            statement = found.end()
    if equals >= 0 and _is(text[statement:equals], key):
        return equals + 1, len(text)
    raise ValueError(f"no line gives {key}")


def _is(written: str, key: str) -> bool:
    """Whether a key as it is ``written``, in quotes or not, is ``key``."""
    return list(tomllib.loads(f"{written.strip()} = 0")) == [key] and "." not in written


def with_new_number(text: str, key: str, number: str, *, before: str) -> str:
    """``text`` with a line for ``key``, which it does not have, above that of ``before``. ValueError as ``with_number``."""
    at = text.rfind("\n", 0, _value_of(text, before)[0]) + 1
    changed = f"{text[:at]}{key} = {number}\n{text[at:]}"
    if tomllib.loads(changed) != tomllib.loads(text) | {key: float(number)}:
        raise ValueError(f"{key} cannot be put above {before} there")
    return changed
