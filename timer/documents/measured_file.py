"""A densitometer's, colorimeter's or spectrophotometer's file (CGATS.17 text): the densities of its samples."""

import re
from collections import Counter
from dataclasses import dataclass

from timer.craft import colorimetry
from timer.documents.cgats import Table, parse
from timer.documents.reading import Reading
from timer.errors import LamphouseError

DENSITIES = ("D_RED", "D_GREEN", "D_BLUE", "D_VIS")
LAB = ("LAB_L", "LAB_A", "LAB_B")
XYZ = ("XYZ_X", "XYZ_Y", "XYZ_Z")
NAMES = ("SAMPLE_ID", "SAMPLE_NAME", "SAMPLE_LOC", "STRING")
MAX_LETTERS = 60
"""Of a sample's name, and of a number."""
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_AT_NM = re.compile(r"(?:SPECTRAL_NM|SPECTRAL|SPEC|NM|R)_?(\d{3}(?:\.\d{1,3})?)(?:NM)?")
MOST_OF_ONE = 1.2
"""Of the perfect diffuser: as light as a brightened paper may read. A file whose lightest is more has it as 100."""
_PER_CENT = {"SPECTRAL_PCT": 100.0, "SPECTRAL_DEC": 1.0}
_LIGHT = re.compile(r"\bD(50|65)\b", re.I)
_SAYS_LIGHT = ("ILLUMINANT", "WEIGHTING_FUNCTION", "MEASUREMENT_SOURCE", "DESCRIPTOR", "FILE_DESCRIPTOR")


def read_samples(text: str, where: str) -> tuple[list[Reading], str, tuple[str, ...]]:
    """The densities of every sample, the density status that the file names (empty: it does not say), and notes on it.

    Columns of density are taken as they are; without them a spectrum, L*a*b* or X Y Z, in that order, becomes densities of
    their own kind. LamphouseError when there is none of these, or a number is none of a print.
    """
    tables = parse(text, where)
    by_density = [t for t in tables if any(name in t.fields for name in DENSITIES)]
    notes = [t.note for t in tables if t.note]
    out: list[Reading] = []
    used = by_density or tables
    named = [table for table in used if _name_column(table) is not None]
    for table in named or used:  # a second table without names is about the chart, not of it
        found, note = _densities(table, where) if by_density else _colours(table, where)
        out += found
        notes += [note] if note else []
    if not out:
        raise LamphouseError(
            f"{where}: no column of densities or colours; there should be {', '.join(DENSITIES)}, a spectrum, L*a*b* or XYZ"
        )
    most = Counter(reading.sample for reading in out).most_common(1)[0]
    if most[1] > 1:
        raise LamphouseError(f"{where}: sample {most[0]!r} stands there twice; each reading needs its own name")
    if long := next((r.sample for r in out if len(r.sample) > MAX_LETTERS), None):
        raise LamphouseError(f"{where}: sample {long!r}: a name is {MAX_LETTERS} letters long at most")
    status = next((t.headers[k] for t in by_density for k in ("WEIGHTING_FUNCTION", "FILTER") if k in t.headers), "")
    return out, status, tuple(notes)


def _name_column(table: Table) -> int | None:
    """The first column of names, of several one whose names differ."""
    there = [table.fields.index(name) for name in NAMES if name in table.fields]
    differ = [at for at in there if len({row[at] for row in table.rows}) == len(table.rows)]
    return next(iter(differ or there), None)


def _names(table: Table) -> list[str]:
    at = _name_column(table)
    return [str(number) if at is None else row[at] for number, row in enumerate(table.rows, 1)]


def _densities(table: Table, where: str) -> tuple[list[Reading], str]:
    out = []
    for sample, row in zip(_names(table), table.rows, strict=True):
        by_name = dict(zip(table.fields, row, strict=True))
        red, green, blue, visual = (
            _number(by_name[d], d, sample, where, -1, 6) if d in by_name else None for d in DENSITIES
        )
        out.append(Reading(sample, red, green, blue, visual))
    return out, ""


# ── colours ──────────────────────────────────────────────────────────────────


def _colours(table: Table, where: str) -> tuple[list[Reading], str]:
    """Readings of kind ``colorimeter``, and what they were made from."""
    spectrum = _spectrum_columns(table)
    white = colorimetry.D50
    if spectrum:
        rows = _spectra(table, spectrum, where)
        says = "densities from spectra under D50"
    elif all(name in table.fields for name in LAB):
        at = [table.fields.index(name) for name in LAB]
        rows = [colorimetry.xyz_of_lab(*lab) for lab in _threes(table, at, where, -200, 200)]
        says = "densities from L*a*b*"
    elif all(name in table.fields for name in XYZ):
        rows, white, says = _xyz(table, where)
    else:
        return [], ""
    out, strong = [], 0
    for sample, xyz in zip(_names(table), rows, strict=True):
        try:
            red, green, blue, visual = colorimetry.densities(xyz, white)
        except ValueError as error:
            raise LamphouseError(f"{where}: sample {sample}: {error}, so it is no reading of a print") from None
        strong += None in (red, green, blue)
        out.append(Reading(sample, red, green, blue, visual, "colorimeter"))
    says += ": not Status A, but alike for any neutral, so they count with an error of their own"
    if strong:
        says += f"; {strong} too strong in colour to have all three"
    return out, says


def _xyz(table: Table, where: str) -> tuple[list[colorimetry.Three], colorimetry.Three, str]:
    at = [table.fields.index(name) for name in XYZ]
    rows = _threes(table, at, where, 0, 200)
    whole = 1.0 if rows and max(y for _, y, _ in rows) <= MOST_OF_ONE else 100.0
    said = next((found[1] for k in _SAYS_LIGHT if (found := _LIGHT.search(table.headers.get(k, "")))), None)
    says = f"densities from X Y Z of {whole:g}, under D{said or 50}" + (
        "" if said else " (the file does not say which light)"
    )
    white = colorimetry.D65 if said == "65" else colorimetry.D50
    return [(x / whole, y / whole, z / whole) for x, y, z in rows], white, says


@dataclass(frozen=True)
class _Spectrum:
    """Places of a spectrum's values in a row; their wavelengths, or the places of these; what stands for all light."""

    at: tuple[int, ...]
    nm: tuple[float, ...] = ()
    nm_at: tuple[int, ...] = ()
    whole: float | None = None


def _spectrum_columns(table: Table) -> _Spectrum | None:
    """Pairs of SPECTRAL_NM and SPECTRAL_PCT or _DEC, as the standard has it, or a column for each wavelength."""
    pairs = tuple(n for n, name in enumerate(table.fields) if name == "SPECTRAL_NM")
    named = table.fields[pairs[0] + 1] if pairs and pairs[0] + 1 < len(table.fields) else ""
    if named in _PER_CENT and all(n + 1 < len(table.fields) and table.fields[n + 1] == named for n in pairs):
        return _Spectrum(tuple(n + 1 for n in pairs), nm_at=pairs, whole=_PER_CENT[named])
    found = [(n, float(at[1])) for n, name in enumerate(table.fields) if (at := _AT_NM.fullmatch(name))]
    if len(found) < 5:
        return None
    norm = table.headers.get("SPECTRAL_NORM", "")
    whole = float(norm) if len(norm) < MAX_LETTERS and _NUMBER.fullmatch(norm) and 0.01 < float(norm) < 1e5 else None
    return _Spectrum(tuple(n for n, _ in found), tuple(nm for _, nm in found), whole=whole)


def _spectra(table: Table, spectrum: _Spectrum, where: str) -> list[colorimetry.Three]:
    names = _names(table)
    read = []
    for sample, row in zip(names, table.rows, strict=True):
        values = [_number(row[n], table.fields[n], sample, where, -1e5, 1e5) for n in spectrum.at]
        nm = spectrum.nm or [_number(row[n], "SPECTRAL_NM", sample, where, 100, 3000) for n in spectrum.nm_at]
        read.append((sample, nm, values))
    greatest = max((sum(values) / len(values) for _, _, values in read), default=0.0)
    whole = spectrum.whole or (1.0 if greatest <= MOST_OF_ONE else 100.0)
    out = []
    for sample, nm, values in read:
        share = [max(0.0, value / whole) for value in values]
        if max(share) > 2:
            raise LamphouseError(f"{where}: sample {sample}: it reflects {max(share):.3g} times the light; no print does")
        try:
            out.append(colorimetry.xyz_of_spectrum(nm, share))
        except ValueError as error:
            raise LamphouseError(f"{where}: sample {sample}: its spectrum is of no use here: {error}") from None
    return out


def _threes(table: Table, at: list[int], where: str, low: float, high: float) -> list[colorimetry.Three]:
    out = []
    for sample, row in zip(_names(table), table.rows, strict=True):
        x, y, z = (_number(row[n], table.fields[n], sample, where, low, high) for n in at)
        out.append((x, y, z))
    return out


def _number(text: str, column: str, sample: str, where: str, low: float, high: float) -> float:
    if len(text) > MAX_LETTERS or not _NUMBER.fullmatch(text) or not low <= float(text) <= high:
        what = "a density is a number" if column in DENSITIES else "it should be a number"
        what += " with a point, not a comma," if "," in text else ""
        raise LamphouseError(f"{where}: sample {sample}: {column} is {text!r}; {what} from {low:g} to {high:g}")
    return float(text)
