"""CGATS.17 text (ISO 28178 keeps the form): tables of a densitometer's or spectrophotometer's readings.

Grammar as the reader of Little-CMS (src/cmscgats.c) accepts it: keywords in any case, quoted strings on one line,
``#`` comments, numbers with a point. Headers may stand before, between and after format and data counts.
"""

import re
from dataclasses import dataclass

from timer.errors import LamphouseError
from timer.text import unfit

DENSITIES = ("D_RED", "D_GREEN", "D_BLUE", "D_VIS")
MAX_VALUES = 200_000
MAX_LETTERS = 60
"""Of a sample's name, and of a number."""
_TOKEN = re.compile(r'\s*(?:#[^\n]*|("[^"\n]*"|\'[^\'\n]*\')|([^\s#"\']+))')
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


@dataclass(frozen=True)
class Table:
    """Headers by keyword (last one wins), column names, rows of as many values; ``note``: what is odd and passed over."""

    headers: dict[str, str]
    fields: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


@dataclass(frozen=True)
class Reading:
    """Densities of one sample; None where the file has no such column."""

    sample: str
    red: float | None
    green: float | None
    blue: float | None
    visual: float | None


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


def densities(text: str, where: str) -> tuple[list[Reading], str, tuple[str, ...]]:
    """The densities of every sample, the density status that the file names (empty: it does not say), and notes on it.

    LamphouseError when there is no density column, or a density is no number of a print.
    """
    tables = [t for t in parse(text, where) if any(name in t.fields for name in DENSITIES)]
    if not tables:
        raise LamphouseError(f"{where}: no column of densities; there should be {', '.join(DENSITIES)}")
    out: list[Reading] = []
    for table in tables:
        name = next((n for n in ("SAMPLE_ID", "SAMPLE_NAME", "STRING") if n in table.fields), None)
        for number, row in enumerate(table.rows, 1):
            by_name = dict(zip(table.fields, row, strict=True))
            sample = by_name[name] if name else str(number)
            out.append(Reading(sample, *(_density(by_name.get(d), d, sample, where) for d in DENSITIES)))
    seen: set[str] = set()
    for reading in out:
        if reading.sample in seen:
            raise LamphouseError(f"{where}: sample {reading.sample!r} stands there twice; each reading needs its own name")
        if len(reading.sample) > MAX_LETTERS:
            raise LamphouseError(f"{where}: sample {reading.sample!r}: a name is {MAX_LETTERS} letters long at most")
        seen.add(reading.sample)
    status = next((t.headers[k] for t in tables for k in ("WEIGHTING_FUNCTION", "FILTER") if k in t.headers), "")
    return out, status, tuple(t.note for t in tables if t.note)


def _density(text: str | None, column: str, sample: str, where: str) -> float | None:
    if text is None:
        return None
    if len(text) > MAX_LETTERS or not _NUMBER.fullmatch(text) or not -1 <= float(text) <= 6:
        raise LamphouseError(f"{where}: sample {sample}: {column} is {text!r}; a density is a number from -1 to 6")
    return float(text)
