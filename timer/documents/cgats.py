"""CGATS.17 text (ISO 28178 keeps the form): tables of a densitometer's or spectrophotometer's readings.

Grammar as the reader of Little-CMS (src/cmscgats.c) accepts it: keywords in any case, quoted strings on one line,
``#`` comments, numbers with a point. Headers may stand before, between and after format and data counts.
"""

import re
from dataclasses import dataclass

from timer.errors import LamphouseError
from timer.text import unfit

MAX_VALUES = 200_000
_TOKEN = re.compile(r'\s*(?:#[^\n]*|("[^"\n]*"|\'[^\'\n]*\')|([^\s#"\']+))')


@dataclass(frozen=True)
class Table:
    """Headers by keyword (last one wins), column names, rows of as many values; ``note``: what is odd and passed over."""

    headers: dict[str, str]
    fields: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


def parse(text: str, where: str) -> list[Table]:
    """The tables of a file; LamphouseError with one sentence and the line for what is malformed."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").removesuffix("\x1a").split("\n")
    for number, line in enumerate(lines, 1):
        if found := unfit(line, lines=True):
            raise LamphouseError(f"{where}, line {number}: not a CGATS text file: it has {found}")
    head = next((n for n, line in enumerate(lines) if line.strip()), None)
    if head is None:
        raise LamphouseError(f"{where}: the file is empty; a CGATS file begins with a line like CGATS.17")
    tables: list[Table] = []
    headers: dict[str, str] = {}
    fields: list[str] | None = None
    at = head + 1
    while at < len(lines):
        words = _words(lines[at], at, where)
        if not words:
            at += 1
            continue
        keyword = words[0].upper()
        if keyword == "BEGIN_DATA_FORMAT":
            names, at = _block(lines, at, words[1:], "END_DATA_FORMAT", where)
            fields = [name.upper() for name in names]
        elif keyword == "BEGIN_DATA":
            if not fields:
                raise LamphouseError(f"{where}, line {at + 1}: data come before their BEGIN_DATA_FORMAT")
            values, at = _block(lines, at, words[1:], "END_DATA", where)
            tables.append(_table(headers, fields, values, at, where))
            headers, fields = {}, None
        else:
            headers[keyword] = " ".join(words[1:])
            at += 1
    if fields is not None:
        raise LamphouseError(f"{where}: the last table has a format and no data")
    if not tables:
        raise LamphouseError(f"{where}: no table of data; there should be BEGIN_DATA_FORMAT and BEGIN_DATA")
    return tables


def _words(line: str, number: int, where: str) -> list[str]:
    out, at = [], 0
    while at < len(line):
        found = _TOKEN.match(line, at)
        if not found:
            if line[at:].strip():
                raise LamphouseError(f"{where}, line {number + 1}: a quotation mark has no end on its line")
            break
        if found[1] is not None:
            out.append(found[1][1:-1])
        elif found[2] is not None:
            out.append(found[2])
        at = found.end()
        if found.end() == found.start():
            break
    return out


def _block(lines: list[str], at: int, first: list[str], end: str, where: str) -> tuple[list[str], int]:
    """Words until ``end``, and the line after it."""
    begin, words, out = at, first, list[str]()
    while True:
        for n, word in enumerate(words):
            if word.upper() == end:
                return out + words[:n], at + 1
        out += words
        if len(out) > MAX_VALUES:
            raise LamphouseError(f"{where}: more than {MAX_VALUES} values; no test chart has that many")
        at += 1
        if at >= len(lines):
            raise LamphouseError(f"{where}, line {begin + 1}: {end} is missing")
        words = _words(lines[at], at, where)


def _table(headers: dict[str, str], fields: list[str], values: list[str], at: int, where: str) -> Table:
    said = headers.get("NUMBER_OF_FIELDS")
    # Files from the field have it wrong; the names of the format are what the values stand under.
    wrong = said is not None and said != str(len(fields))
    note = f"NUMBER_OF_FIELDS says {said} and the format has {len(fields)}: the format was taken" if wrong else ""
    if len(values) % len(fields):
        raise LamphouseError(f"{where}, line {at}: {len(values)} values do not fill rows of {len(fields)}")
    rows = tuple(tuple(values[n : n + len(fields)]) for n in range(0, len(values), len(fields)))
    sets = headers.get("NUMBER_OF_SETS")
    if sets is not None and sets != str(len(rows)):
        raise LamphouseError(f"{where}: NUMBER_OF_SETS says {sets} and there are {len(rows)}")
    return Table(headers, tuple(fields), rows, note)
