"""Sheets of one negative that were printed at several sizes: their seconds, as at the last one's."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from timer.craft.enlargement import parse_sheet, size_factor
from timer.craft.stops import digits
from timer.documents.recipe import Enlargement
from timer.errors import Refused
from timer.measure.sheet import Sheet
from timer.plans.magnification import magnification_of

ALIKE = 0.002
"""Two magnifications as near as this, in proportion, are one: a hundredth of a stop is four times as much."""


def at_one_size(
    sheets: Sequence[Sheet], places: Mapping[int, Enlargement | None], exponent: float = 1.0
) -> tuple[list[Sheet], list[str]]:
    """``sheets`` with the seconds that the last one's size would have needed, and what is to be said of it.

    ``places``: how the enlarger stood for each, by its run, as far as it is written; one of which no size is written is
    taken as of the same. ``exponent``: of the head, on the print-size formula. Refused when two sizes are written, and how
    much larger one picture is than the other is not known.
    """
    last = sheets[-1].run
    here = places[last]
    out, notes = list[Sheet](), list[str]()
    for each in sheets:
        there = places[each.run]
        if _written(here) and _written(there):
            assert here and there
            factor = _factor(there, here, exponent, each.run, last)
            if factor != 1:
                each = replace(each, lights=tuple(replace(g, seconds=g.seconds * factor) for g in each.lights))
                old, new = (digits(magnification_of(place) or 0) for place in (there, here))
                made = f"sheet {each.run} was made at magnification {old}"
                notes.append(f"{made}: its seconds count as {factor:.3g} times as many at {new}")
        elif _written(here) != _written(there):
            written, other = (each.run, last) if _written(there) else (last, each.run)
            notes.append(
                f"sheet {written} has its size written and sheet {other} has not: they are taken as made at the same one"
            )
        out.append(each)
    return out, notes


def _written(place: Enlargement | None) -> bool:
    return place is not None and bool(place.sheet or place.detail_print_mm or place.lens_to_paper_mm)


def _factor(there: Enlargement, here: Enlargement, exponent: float, run: int, last: int) -> float:
    old, new = magnification_of(there), magnification_of(here)
    if old and new:
        return size_factor(old, new, exponent) if abs(old / new - 1) > ALIKE else 1.0
    if _stands(there) == _stands(here):
        return 1.0
    sizes = " and ".join(place.sheet or "as measured" for place in (there, here))
    raise Refused(
        f"sheets {run} and {last} are of two sizes ({sizes}), and how much larger one picture is than the other is not "
        "known: solve from sheets of one size, or give their prints the negative's frame as well, like 24x36mm 18x24cm"
    )


def _stands(place: Enlargement) -> tuple[object, ...]:
    sheet = parse_sheet(place.sheet) if place.sheet else None
    return sheet, place.fill, place.border_mm, place.detail_print_mm, place.lens_to_paper_mm
